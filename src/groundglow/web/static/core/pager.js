// Earlier and later pages of a list that the server pages.

import { el } from "./dom.js";

/** Buttons and a line that says where we are; `show(offset)` fetches. */
export function pager(page, show, thing) {
  const { offset, limit, total } = page;
  const last = Math.min(offset + limit, total);
  const turn = (to) => ({ type: "button", onclick: () => show(to) });
  return [
    el("button", { ...turn(Math.max(0, offset - limit)), disabled: offset === 0 }, "Earlier"),
    el("span", {}, total ? `${offset + 1} to ${last} of ${total} ${thing}${total === 1 ? "" : "s"}` : `no ${thing}`),
    el("button", { ...turn(offset + limit), disabled: last >= total }, "Later"),
  ];
}

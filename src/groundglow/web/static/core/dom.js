// Building and finding elements. Text is always set as text, never as markup.

const SVG = "http://www.w3.org/2000/svg";

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "value") node.value = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  for (const child of children.flat(Infinity)) {
    if (child === null || child === undefined || child === false) continue;
    node.append(child);
  }
  return node;
}

/** An HTML element with attributes (`on...` are listeners) and children (text or elements). */
export function el(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

/** The same for SVG. */
export function svg(tag, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

/** The one element that answers to a selector; its absence is a fault of ours and says so. */
export function one(selector, within = document) {
  const found = within.querySelector(selector);
  if (!found) throw new Error(`the page holds no ${selector}`);
  return found;
}

/** Put children in place of what was there. */
export function put(node, ...children) {
  node.replaceChildren();
  return fill(node, {}, children);
}

/** What the server wrote into the page's <main data-...>. */
export function given() {
  return one("main").dataset;
}

/** A table that may be wider than the page: it scrolls by itself, by keyboard too. */
export function wide(name, table) {
  return el("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": name }, table);
}

/** Call once, when the element comes near. */
export function whenSeen(node, call) {
  const watch = new IntersectionObserver((entries) => {
    if (!entries.some((e) => e.isIntersecting)) return;
    watch.disconnect();
    call();
  }, { rootMargin: "200px" });
  watch.observe(node);
}

/** `call` after `wait` ms without another call. */
export function settled(call, wait = 150) {
  let timer = 0;
  return (...args) => {
    clearTimeout(timer);
    timer = setTimeout(() => call(...args), wait);
  };
}

// Signing in with the server's token.

import { post, tried } from "../core/api.js";
import { one } from "../core/dom.js";

one("#login").addEventListener("submit", (event) => {
  event.preventDefault();
  tried(async () => {
    await post("/api/login", { token: one("#token").value });
    location.assign("/");
  });
});

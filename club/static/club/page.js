// Small helps for every page: print, errors of requests in words, unsaved work, focus after a swap.
"use strict";

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-print]")) window.print();
});

function say(text) {
  const region = document.getElementById("messages");
  if (!region) return;
  const line = document.createElement("p");
  line.className = "message error";
  line.textContent = text;
  region.replaceChildren(line);
}

document.addEventListener("htmx:responseError", (event) => {
  const status = event.detail.xhr.status;
  if (status === 403) say("You may look at this, but not change it. Ask the director.");
  else if (status === 404) say("This is no longer here. Load the page again.");
  else say("The club's computer could not do this. Nothing was changed. Try again in a minute.");
});

document.addEventListener("htmx:sendError", () => {
  say("There is no connection to the club's computer. Nothing was sent. Try again when the wifi is back.");
});

// After a swap the keyboard continues at the first error, or at what changed.
document.addEventListener("htmx:afterSettle", (event) => {
  const error = event.target.querySelector?.("[aria-invalid=true], .wrong input, .wrong select, .wrong textarea");
  if (error) error.focus();
});

// A form that says so warns before typed work is left.
let typed = false;
document.addEventListener("input", (event) => {
  if (event.target.closest("form[data-keep]")) typed = true;
});
document.addEventListener("submit", () => { typed = false; });
window.addEventListener("beforeunload", (event) => {
  if (typed) event.preventDefault();
});

// Everything works without this: number keys choose an answer, and the question is read out first.
"use strict";

const typing = (target) => target.matches("input:not([type=checkbox], [type=radio]), select, textarea");

let typed = "";
let waiting;

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || typing(event.target)) return;
  const keys = [...document.querySelectorAll("[data-key]")];
  const fits = keys.filter((button) => button.dataset.key.startsWith(typed + event.key));
  if (!fits.length) return;
  event.preventDefault();
  clearTimeout(waiting);
  typed += event.key;
  const choose = () => {
    const chosen = fits.find((button) => button.dataset.key === typed);
    typed = "";
    chosen?.click();
  };
  if (fits.length === 1 && fits[0].dataset.key === typed) choose();
  else waiting = setTimeout(choose, 700); // 1 may be the beginning of 10
});

document.addEventListener("submit", (event) => {
  const sent = event.target;
  if (sent.dataset.sent) event.preventDefault(); // a second tap sends nothing twice
  sent.dataset.sent = "yes";
});
addEventListener("pageshow", () => document.querySelectorAll("form").forEach((form) => delete form.dataset.sent));

// What warns is read out first; a reading can be typed at once only where no screen keyboard would cover the page.
const first = matchMedia("(pointer: fine)").matches ? "#reading" : "#question";
const aim = ["[autofocus]", ".wrong[tabindex]", ".stop, .caution[tabindex]", ":target", first, "#question"];
const aimed = aim.map((what) => document.querySelector(what)).find(Boolean);
aimed?.focus({ preventScroll: true });
if (aimed?.matches(".wrong")) aimed.scrollIntoView({ block: "nearest" }); // it may stand below a long warning

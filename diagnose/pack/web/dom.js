// Elements from data. Text only ever becomes text nodes, so nothing a person typed can become markup.

// h("p", { class: "x", onclick: f }, "text", child, [children], null)
function h(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children.flat(Infinity).filter((c) => c !== null && c !== undefined && c !== false && c !== ""));
  return element;
}

const button = (says, onclick, attributes = {}) => h("button", { type: "button", onclick, ...attributes }, says);
const list = (items, tag = "ul") => h(tag, {}, items.map((item) => h("li", {}, item)));
const pair = (name, ...says) => h("p", {}, h("b", {}, `${name}: `), ...says);

let fieldCount = 0;
// A labelled field; `tag` input or textarea.
function field(says, attributes = {}, tag = "input") {
  fieldCount += 1;
  const id = `field${fieldCount}`;
  const input = h(tag, { id, maxlength: 1500, autocomplete: "off", ...attributes });
  return { input, row: h("div", { class: "field" }, h("label", { for: id }, says), input) };
}

// A tick box or radio button with its words, one thumb-sized row.
function choice(type, name, value, says, checked = false) {
  const input = h("input", { type, name, value });
  input.checked = checked;
  return h("label", { class: "choice" }, input, h("span", {}, says));
}

const chosenIn = (form, name) => [...form.querySelectorAll(`[name="${name}"]:checked`)].map((i) => i.value);

function select(says, options, chosen = "") {
  const { input, row } = field(says, {}, "select");
  input.removeAttribute("maxlength");
  input.append(...options.map(([value, text]) => h("option", { value, selected: value === chosen }, text)));
  return { input, row };
}

// A fold that stays as it was when the page is drawn again.
const openFolds = new Set();
function fold(name, says, content, opened = false) {
  const details = h("details", {}, h("summary", {}, says));
  const fill = () => { if (details.open && details.children.length === 1) details.append(h("div", {}, content())); };
  details.open = opened || openFolds.has(name);
  details.addEventListener("toggle", () => {
    openFolds[details.open ? "add" : "delete"](name);
    fill();
  });
  fill();
  return details;
}

// Its length is set by script: the page's policy allows no style attributes.
function bar(probability) {
  const full = h("span", {});
  full.style.width = `${Math.round(probability * 100)}%`;
  return h("span", { class: "bar", "aria-hidden": "true" }, full);
}

function form(onsubmit, ...children) {
  const submit = (event) => { event.preventDefault(); onsubmit(event.currentTarget); };
  return h("form", { novalidate: true, onsubmit: submit }, ...children);
}

// Half a character - a lone surrogate, as a cut-off paste leaves it - is dropped.
const HALF = /[\ud800-\udbff](?![\udc00-\udfff])|(?<![\ud800-\udbff])[\udc00-\udfff]/g;
const typedIn = (input) => squeezed(input.value.replace(HALF, ""));

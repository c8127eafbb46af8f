// Elements from script: built with properties and listeners, never from text that is parsed as HTML.

const SVG = "http://www.w3.org/2000/svg";

function fill(node, properties, children) {
  for (const [name, value] of Object.entries(properties ?? {})) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "class") node.setAttribute("class", value);
    else if (name in node && typeof value !== "string" && !(node instanceof SVGElement)) node[name] = value;
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  node.append(...children.flat(4).filter((child) => child !== null && child !== undefined && child !== false));
  return node;
}

/** el("button", {type: "button", onclick: f}, "Send") */
export const el = (tag, properties, ...children) => fill(document.createElement(tag), properties, children);
export const svg = (tag, properties, ...children) => fill(document.createElementNS(SVG, tag), properties, children);

export const $ = (selector, root = document) => root.querySelector(selector);

const addresses = new WeakMap();

/** One address for a picture that is drawn again and again. */
export function addressOf(blob) {
  if (!addresses.has(blob)) addresses.set(blob, URL.createObjectURL(blob));
  return addresses.get(blob);
}

const lettersOf = (name) => [...new Set([name.split(/\s+/)[0], name.split(/\s+/).at(-1)])].map((part) => [...part][0] ?? "").join("");

/** A person at the left of a row: the newest picture, or the first letters of the name. still: its address. */
export const face = (still, name) => (still ? el("img", { class: "face", src: still, alt: "", loading: "lazy" }) : el("span", { class: "face", "aria-hidden": "true" }, lettersOf(name)));

/** Replaces what a place shows; text, nodes or arrays of them. */
export function show(place, ...children) {
  place.replaceChildren(...children.flat(4).filter((child) => child !== null && child !== undefined && child !== false));
}

/** Tells a screen reader, and shows for a while what happened. */
export function announce(text, { urgent = false } = {}) {
  let place = $("#said");
  if (!place) {
    place = el("p", { id: "said", role: "status", "aria-live": "polite" });
    document.body.append(place);
  }
  place.setAttribute("aria-live", urgent ? "assertive" : "polite");
  place.classList.toggle("urgent", urgent);
  place.textContent = "";
  requestAnimationFrame(() => {
    place.textContent = text;
    place.classList.add("shown");
  });
  clearTimeout(announce.timer);
  announce.timer = setTimeout(() => place.classList.remove("shown"), urgent ? 12000 : 4000);
}

/** A labelled field. The control keeps its own id. */
export function field(label, control, hint) {
  control.id ||= `f${++field.count}`;
  const help = hint ? el("span", { class: "hint", id: `${control.id}-hint` }, hint) : null;
  if (help) control.setAttribute("aria-describedby", help.id);
  return el("p", { class: "field" }, el("label", { for: control.id }, label), control, help);
}
field.count = 0;

/** Runs a task with its button out of reach, so that a double tap sends once. */
export async function busy(button, task) {
  if (button.disabled) return undefined;
  const held = document.activeElement === button;
  button.disabled = true;
  button.setAttribute("aria-busy", "true");
  try {
    return await task();
  } finally {
    button.disabled = false;
    button.removeAttribute("aria-busy");
    if (held && button.isConnected && document.activeElement === document.body) button.focus(); // it lost it while out of reach
  }
}

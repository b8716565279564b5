// Small helpers for building the page: text only, never markup from data.

/** Return an element with attributes and children; text is text. */
export function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(key, value);
  }
  made.append(...children);
  return made;
}

/** Return an element of a drawing. */
export function svg(name, attributes) {
  const made = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}

/** Return a text that shows in the unit the reader has chosen. */
export function both(mm, inch) {
  return [element("span", { class: "mm" }, mm), element("span", { class: "in" }, inch)];
}

/** Return a length in both units, to a hundredth of a millimetre: the mesh is no finer. */
export function length(mm) {
  return both(`${mm.toFixed(2)} mm`, `${(mm / 25.4).toFixed(3)} in`);
}

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
  if ("data-en" in attributes) window.rename([made]); // the page's own script, which does so at every switch
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

const GERMAN = {
  Front: "Vorn", Back: "Hinten", Left: "Links", Right: "Rechts", Top: "Oben", Bottom: "Unten", Corner: "Ecke", Fit: "Einpassen",
  "Colour by": "Farbe nach", "kind of face": "Art der Fläche", "wall thickness": "Wanddicke", setup: "Aufspannung", cutter: "Werkzeug",
  "left uncut by": "stehen gelassen von", "all cutters together": "allen Werkzeugen zusammen", Section: "Schnitt", whole: "ganz",
  "cut x": "Schnitt x", "cut y": "Schnitt y", "cut z": "Schnitt z", "Other side": "Andere Seite", Measure: "Messen", Close: "Schließen",
  "Click a face, a row or a finding.": "Fläche, Zeile oder Befund anklicken.", "Click two places.": "Zwei Stellen anklicken.",
  "Click the second place.": "Die zweite Stelle anklicken.", "material stands here:": "hier bleibt Material stehen:", "all others": "alle anderen",
  "none of these": "keine davon", "nothing opposite": "nichts gegenüber", apart: "Abstand", Face: "Fläche", "in no setup": "in keiner Aufspannung",
  "made with": "gefertigt mit", along: "entlang", "Which one": "Welches davon", "Place of the cut": "Ort des Schnitts",
  "The part in 3D. Arrow keys turn it, plus and minus zoom, F fits, digits 1 to 7 choose a view.":
    "Das Teil in 3D. Pfeiltasten drehen es, Plus und Minus zoomen, F passt ein, die Ziffern 1 bis 7 wählen eine Ansicht.",
};

/** Return a text that shows in the language the reader has chosen. */
export function word(text) {
  const german = GERMAN[text];
  return german ? element("span", {}, element("span", { class: "en", lang: "en" }, text), element("span", { class: "de", lang: "de" }, german)) : text;
}

/** Know the German of further words. */
export function learn(words) {
  Object.assign(GERMAN, words);
}

/** Return the attributes of an accessible name in both languages. */
export function named(text) {
  return { "aria-label": text, "data-en": text, "data-de": GERMAN[text] };
}

/** Return an option of a list; it holds plain text, so it is written anew when the language changes. */
export function option(value, text) {
  return element("option", { value, "data-en": text, "data-de": GERMAN[text] }, text);
}

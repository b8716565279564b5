"use strict";
/** Write what can hold no HTML (tooltips, accessible names, options) in the reader's language and unit. */
function rename(elements = document.querySelectorAll("[data-en]")) {
  const [german, inch] = ["lang-de", "unit-in"].map((id) => document.getElementById(id).checked);
  for (const each of elements) {
    const { en, in: inches = en, de = en, deIn = de } = each.dataset;
    const name = german ? (inch ? deIn : de) : (inch ? inches : en);
    const attribute = ["aria-label", "title"].find((known) => each.hasAttribute(known));
    if (attribute) each.setAttribute(attribute, name);
    else each.textContent = name;
  }
  document.documentElement.lang = german ? "de" : "en";
}

document.addEventListener("change", (event) => {
  if (["lang", "unit"].includes(event.target.name)) rename();
});
// a reloaded page may remember what was chosen; as it is written it speaks English and millimetres
if (document.getElementById("lang-de").checked || document.getElementById("unit-in").checked) rename();

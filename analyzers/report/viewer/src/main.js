// Starts a viewer where the page has a picture of a body; without WebGL the pictures stay.
import { readBody } from "./data.js";
import { element, word } from "./page.js";
import { drawingContext } from "./stage.js";
import { Viewer } from "./viewer.js";

const MOST_LIVE = 4; // browsers allow some 16 drawing contexts; a few are enough
const live = new Map(); // body id -> Promise<Viewer>, the longest unused first
let tried = null; // the drawing context that showed that there is WebGL, for the first viewer: making one takes longest

function possible() {
  try {
    tried = window.DecompressionStream ? drawingContext() : null;
  } catch {
    tried = null;
  }
  return Boolean(tried);
}

/** Let the pictures show all they have: until then those that the viewer is to replace lack their lines, which cost most. */
function picturesOnly() {
  document.documentElement.classList.add("pictures-only", "settled");
}

/** Let the rest of the page be laid out once the part has been drawn. */
function settle() {
  const later = window.requestIdleCallback ?? setTimeout;
  requestAnimationFrame(() => requestAnimationFrame(() => later(() => document.documentElement.classList.add("settled"))));
}

function figureOf(id) {
  return document.querySelector(`figure.view[data-body="${CSS.escape(id)}"]`);
}

/** Return the viewer of a body, started if need be; the longest unused one makes room. */
function viewerOf(id) {
  let viewer = live.get(id);
  if (viewer) {
    live.delete(id);
  } else {
    if (live.size >= MOST_LIVE) {
      const [oldest, made] = live.entries().next().value;
      live.delete(oldest);
      made.then((each) => each.dispose());
    }
    const context = tried ?? drawingContext();
    tried = null;
    viewer = readBody(document.getElementById(`${id}-solid`)).then((body) => new Viewer(figureOf(id), body, context));
    viewer.then(settle, (error) => {
      picturesOnly();
      throw error;
    });
  }
  live.set(id, viewer);
  return viewer;
}

async function show(button) {
  const { body, features, faces } = button.dataset;
  const viewer = await viewerOf(body);
  const ids = (features || "").split(" ").filter(Boolean);
  const wanted = faces ? faces.split(" ").map(Number) : viewer.body.features.filter((each) => ids.includes(each.id)).flatMap((each) => each.faces);
  const row = button.closest("tr, li");
  const words = (row.querySelector(".callout, .head") || row).cloneNode(true);
  words.querySelectorAll("button").forEach((each) => each.remove());
  dock(viewer.figure);
  viewer.show(wanted, [element("span", {}, ...words.childNodes)]);
}

/** Keep the viewer in sight: where its own place is off the screen it goes to the corner. */
function dock(figure) {
  const stage = figure.querySelector(".stage").getBoundingClientRect();
  const inSight = Math.min(stage.bottom, innerHeight) - Math.max(stage.top, document.querySelector(".bar").getBoundingClientRect().bottom);
  if (figure.classList.contains("docked") || inSight > stage.height / 2) return;
  const place = figure.parentElement.getBoundingClientRect();
  figure.parentElement.style.minHeight = `${place.height}px`;
  figure.classList.add("docked");
  if (!figure.querySelector(".undock")) {
    figure.append(element("button", { type: "button", class: "undock", onclick: () => undock(figure) }, word("Close")));
  }
  seen.observe(figure.parentElement);
}

function undock(figure) {
  figure.classList.remove("docked");
  figure.parentElement.style.minHeight = "";
  figure.querySelector(".undock")?.remove();
  seen.unobserve(figure.parentElement);
}

const seen = new IntersectionObserver((entries) => {
  for (const each of entries) {
    if (each.intersectionRatio > 0.5) undock(each.target.querySelector("figure.view"));
  }
}, { threshold: [0, 0.6] });

function start() {
  if (!possible()) {
    picturesOnly();
    return;
  }
  for (const button of document.querySelectorAll("button.show")) {
    button.hidden = false;
    button.addEventListener("click", () => show(button));
  }
  const arriving = new IntersectionObserver((entries) => {
    for (const each of entries) {
      if (each.isIntersecting && !each.target.classList.contains("live")) viewerOf(each.target.dataset.body);
    }
  });
  for (const figure of document.querySelectorAll("figure.view[data-body]")) arriving.observe(figure);
}

if (document.readyState === "loading") addEventListener("DOMContentLoaded", start);
else start();

// The viewer of one body: the stage, its tools, and its ties to the rows of the page.
import { BufferAttribute, BufferGeometry, Line, LineBasicMaterial, Vector3 } from "three";
import { both, element, learn, length, named, option, svg, word } from "./page.js";
import { Stage, VIEWS } from "./stage.js";

const SERIES = ["#5c9ed6", "#ecaa48", "#5eba96", "#d494bc", "#f0de5a", "#de7c4c", "#96d6e8", "#aaa0dc"];
const NEITHER = "#dfe3e8";
const UNCUT = "#c2410c";
const EVEN = [[68, 1, 84], [71, 45, 123], [59, 82, 139], [44, 114, 142], [33, 145, 140], [40, 174, 128], [94, 201, 98], [173, 220, 48], [253, 231, 37]];
const CLICK_PX = 4;
const LABEL_PX = 30;

export class Viewer {
  constructor(figure, body, context) {
    this.figure = figure;
    this.body = body;
    learn(body.german);
    this.legend = figure.parentElement.querySelector(".legend");
    this.ownLegend = this.legend ? Array.from(this.legend.children) : [];
    this.frame = element("div", { class: "stage" });
    this.labels = element("div", { class: "labels" });
    this.says = element("div", { class: "says", "aria-live": "polite" }, word("Click a face, a row or a finding."));
    this.frame.append(this.labels);
    figure.prepend(this.frame);
    this.stage = new Stage(this.frame, body, context, (resting) => this.placeLabels(resting));
    this.tools = this.makeTools();
    figure.append(this.tools, this.says);
    this.makeLabels();
    let down = null;
    this.stage.canvas.addEventListener("pointerdown", (event) => (down = event));
    this.stage.canvas.addEventListener("pointerup", (event) => {
      if (down && Math.hypot(event.clientX - down.clientX, event.clientY - down.clientY) < CLICK_PX) this.pick(event);
    });
    figure.classList.add("live");
    this.stage.resize();
  }

  makeTools() {
    const views = Object.keys(VIEWS).map((name) => element("button", { type: "button", onclick: () => this.stage.view(name) }, word(name)));
    const colour = element("select", { class: "by", onchange: () => this.colourBy(colour.value) });
    const modes = [["class", "kind of face"], ["setup", "setup"], ["cutter", "cutter"]];
    if (this.body.thickness) modes.splice(1, 0, ["thickness", "wall thickness"]);
    if (this.body.uncut?.length) modes.push(["uncut", "left uncut by"]);
    for (const [value, words] of modes) colour.append(option(value, words));
    this.only = element("select", { class: "only", ...named("Which one"), hidden: true, onchange: () => this.colourBy(colour.value, this.only.value) });
    const axis = element("select", {}, ...["off", "x", "y", "z"].map((value) => option(value, value === "off" ? "whole" : `cut ${value}`)));
    const share = element("input", { type: "range", min: "0", max: "1", step: "0.005", value: "0.5", ...named("Place of the cut"), disabled: true });
    const flip = element("button", { type: "button", "aria-pressed": "false", disabled: true }, word("Other side"));
    const cut = () => {
      share.disabled = flip.disabled = axis.value === "off";
      this.stage.solid.cut(axis.value === "off" ? null : axis.value, Number(share.value), flip.getAttribute("aria-pressed") === "true");
      this.stage.draw();
    };
    axis.addEventListener("change", cut);
    share.addEventListener("input", cut);
    flip.addEventListener("click", () => {
      flip.setAttribute("aria-pressed", String(flip.getAttribute("aria-pressed") !== "true"));
      cut();
    });
    this.ruler = element("button", { type: "button", "aria-pressed": "false", onclick: () => this.measure(this.ruler.getAttribute("aria-pressed") !== "true") }, word("Measure"));
    return element(
      "div",
      { class: "tools" },
      element("span", { class: "group" }, ...views, element("button", { type: "button", onclick: () => this.stage.fit() }, word("Fit"))),
      element("span", { class: "group" }, element("label", {}, word("Colour by"), " ", colour), this.only),
      element("span", { class: "group" }, element("label", {}, word("Section"), " ", axis), share, flip),
      this.ruler,
    );
  }

  /** Colour by "class", "thickness", "setup" or "cutter"; of the last two only one, where it is named. */
  colourBy(what, only = "") {
    this.release(); // marked faces would hide what was asked for
    if (what === "thickness") this.colourByThickness();
    else if (what === "uncut") this.colourByUncut(only);
    else if (what === "class") this.stage.solid.paint((face) => this.body.classes[this.body.faceClass[face]].colour);
    else this.colourByUse(what, only);
    if (what === "class") this.legend?.replaceChildren(...this.ownLegend);
    this.only.hidden = what === "class" || what === "thickness";
    this.figure.dataset.colours = what;
    this.stage.draw();
  }

  colourByUse(what, only) {
    const { body } = this;
    const usesOf = (feature) => (what === "setup" ? [feature.setup] : feature.cutters).filter(Boolean);
    const names = [...new Set(body.features.flatMap(usesOf))];
    const byFace = new Map();
    for (const feature of body.features) {
      const uses = usesOf(feature);
      const name = only ? uses.find((each) => each === only) : uses[0];
      if (name) for (const face of feature.faces) byFace.set(face, SERIES[names.indexOf(name) % SERIES.length]);
    }
    this.stage.solid.paint((face) => byFace.get(face) ?? NEITHER);
    if (!only || this.only.dataset.of !== what) this.only.replaceChildren(element("option", { value: "", "data-en": `all ${names.length}`, "data-de": `alle ${names.length}` }, `all ${names.length}`), ...names.map((name) => element("option", { value: name }, name)));
    this.only.dataset.of = what;
    const shown = only ? [only] : names;
    this.legend?.replaceChildren(...shown.map((name) => swatch(SERIES[names.indexOf(name) % SERIES.length], name)), swatch(NEITHER, word(only ? "all others" : "none of these")));
  }

  /** Show beside which faces a cutter leaves material standing. */
  colourByUncut(cutter) {
    const { uncut } = this.body;
    const chosen = uncut.find((each) => each.cutter === cutter) ?? uncut[0];
    const faces = new Set(chosen.faces);
    this.stage.solid.paint((face) => (faces.has(face) ? UNCUT : NEITHER));
    if (this.only.dataset.of !== "uncut") {
      this.only.replaceChildren(...uncut.map((each) => option(each.cutter, each.cutter || "all cutters together")));
    }
    this.only.dataset.of = "uncut";
    this.legend?.replaceChildren(
      swatch(UNCUT, word("material stands here:"), " ", ...both(...chosen.volume), ` in ${chosen.features.join(", ")}`),
      swatch(NEITHER, word("all others")),
    );
  }

  colourByThickness() {
    const { codes, low, high } = this.body.thickness;
    this.stage.solid.paintCodes(codes, (code) => scaled((code - 1) / 254), NEITHER);
    const steps = Array.from({ length: 6 }, (_, step) => step / 5);
    this.legend?.replaceChildren(
      ...steps.map((share) => swatch(scaled(share), ...length(low * (high / low) ** share))),
      swatch(NEITHER, word("nothing opposite")),
    );
  }

  makeLabels() {
    this.leaders = svg("svg", { "aria-hidden": "true" });
    this.labels.append(this.leaders);
    for (const mark of this.body.marks) {
      mark.element = element("button", { type: "button", class: `pin ${mark.shape}`, title: mark.title, ...mark.names, onclick: () => this.showMark(mark) }, mark.label);
      mark.at = new Vector3(...mark.point);
      mark.lines = ["halo", ""].map((name) => svg("line", { class: name }));
      mark.foot = svg("circle", { r: "3.5" });
      this.leaders.append(...mark.lines, mark.foot);
      this.labels.append(mark.element);
    }
  }

  /** Put the labels into the margins, with a line to each, none of which crosses another; at rest find the hidden ones. */
  placeLabels(resting) {
    const { clientWidth: width, clientHeight: height } = this.frame;
    const { marks } = this.body;
    const places = this.stage.places(marks.map((mark) => mark.at));
    const placed = marks.map((mark, at) => ({ mark, ...places[at] }));
    const middle = placed.map((each) => each.x).sort((a, b) => a - b)[placed.length >> 1] ?? 0;
    const columns = [placed.filter((each) => each.x < middle), placed.filter((each) => each.x >= middle)];
    columns.forEach((column, side) => {
      column.sort((a, b) => a.y - b.y);
      const heights = spread(column.map((each) => each.y), height);
      const labelX = side ? width - LABEL_PX / 2 - 2 : LABEL_PX / 2 + 2;
      uncross(column, heights, labelX);
      column.forEach(({ mark, x, y }, at) => {
        mark.element.style.transform = `translate(${labelX}px, ${heights[at]}px)`;
        for (const line of mark.lines) {
          for (const [key, value] of [["x1", labelX], ["y1", heights[at]], ["x2", x], ["y2", y]]) line.setAttribute(key, value.toFixed(1));
        }
        mark.foot.setAttribute("cx", x.toFixed(1));
        mark.foot.setAttribute("cy", y.toFixed(1));
      });
    });
    if (resting) requestAnimationFrame(() => this.dashLabels());
  }

  /** Dash the lines to places that something lies in front of. */
  dashLabels() {
    const { marks } = this.body;
    const hidden = this.stage.solid.covered(marks.map((mark) => mark.at), this.stage.direction());
    marks.forEach((mark, at) => {
      for (const each of [mark.lines[1], mark.foot]) each.classList.toggle("behind", hidden[at]);
    });
  }

  showMark(mark) {
    this.show(mark.faces, [element("span", mark.names, mark.title)]);
  }

  /** Mark faces, go there and say what they are. */
  show(faces, words) {
    this.stage.show(faces);
    this.figure.dataset.marked = faces.join(" ");
    this.say(...words);
  }

  /** Take the marks off the faces. */
  release() {
    this.stage.solid.mark([]);
    this.figure.dataset.marked = "";
    this.say(word("Click a face, a row or a finding."));
  }

  say(...words) {
    this.says.replaceChildren(...words);
  }

  pick(event) {
    const hit = this.stage.under(event.clientX, event.clientY);
    if (this.points) return this.addPoint(hit);
    if (!hit) {
      this.release();
      return this.stage.draw();
    }
    const feature = this.body.features.find((each) => each.faces.includes(hit.face));
    const faces = feature ? feature.faces : [hit.face];
    this.stage.solid.mark(faces);
    this.stage.draw();
    this.figure.dataset.picked = hit.face;
    this.figure.dataset.marked = faces.join(" ");
    return this.say(...this.describe(hit.face, feature));
  }

  describe(face, feature) {
    const { body } = this;
    const radius = body.radii[face];
    const parts = [element("b", {}, word("Face"), ` ${face}`), ": ", word(body.surfaces[face]), ...(radius ? [" R", ...length(radius)] : []), ", ", word(body.classes[body.faceClass[face]].word), ". "];
    if (feature) {
      parts.push(element("b", {}, word(feature.kind), ` ${feature.id}: `), ...both(feature.callout[0], feature.callout[1]));
      for (const [name, value] of feature.numbers) parts.push(", ", word(name), " ", ...both(value[0], value[1]));
      parts.push("; ", ...(feature.setup ? [word("setup"), ` ${feature.setup}`] : [word("in no setup")]));
      parts.push(...(feature.cutters.length ? [", ", word("made with"), ` ${feature.cutters.join(", ")}. `] : [". "]));
    }
    const about = body.findings.filter((each) => each.faces.includes(face) || (feature && each.features.includes(feature.id)));
    for (const each of about) parts.push(" ", element("a", { href: `#${each.anchor}` }, word(each.word), ` ${each.number}`));
    return parts;
  }

  measure(on) {
    this.ruler.setAttribute("aria-pressed", String(on));
    this.points = on ? [] : null;
    this.line?.removeFromParent();
    this.line = null;
    this.say(word(on ? "Click two places." : "Click a face, a row or a finding."));
    this.stage.draw();
  }

  addPoint(hit) {
    if (!hit) return;
    if (this.points.length === 2) this.measure(true);
    this.points.push(hit.point);
    if (this.points.length < 2) return this.say(word("Click the second place."));
    const [a, b] = this.points;
    const geometry = new BufferGeometry();
    geometry.setAttribute("position", new BufferAttribute(new Float32Array([...a, ...b]), 3));
    this.line = new Line(geometry, new LineBasicMaterial({ color: "#c2185b", depthTest: false }));
    this.stage.solid.scene.add(this.line);
    const away = b.clone().sub(a);
    this.say(element("b", {}, ...length(away.length())), " ", word("apart"), "; ", word("along"), " x ", ...length(Math.abs(away.x)), ", y ", ...length(Math.abs(away.y)), ", z ", ...length(Math.abs(away.z)));
    return this.stage.draw();
  }

  dispose() {
    this.stage.dispose();
    this.frame.remove();
    this.tools.remove();
    this.says.remove();
    this.legend?.replaceChildren(...this.ownLegend);
    this.figure.classList.remove("live", "docked");
    this.figure.classList.add("drawn");
  }
}

/** Return a colour for 0 (thin, dark) to 1 (thick, light); lightness rises evenly (the scale "viridis", CC0). */
function scaled(share) {
  const at = Math.min(share * (EVEN.length - 1), EVEN.length - 1.001);
  const [one, other] = [EVEN[Math.floor(at)], EVEN[Math.floor(at) + 1]];
  return `rgb(${one.map((value, i) => Math.round(value + (other[i] - value) * (at % 1))).join(",")})`;
}

function swatch(colour, ...words) {
  const box = svg("svg", { width: "26", height: "16" });
  box.append(svg("rect", { width: "26", height: "16", fill: colour, class: "frame-filled" }));
  return element("li", {}, box, ...words);
}

/** Order places so that the line from each to the label of its turn crosses no other: crossing lines get shorter exchanged. */
function uncross(column, heights, labelX) {
  const length = (label, place) => Math.hypot(labelX - column[place].x, heights[label] - column[place].y);
  for (let shortened = true; shortened; ) {
    shortened = false;
    for (let i = 0; i < column.length; i++) {
      for (let j = i + 1; j < column.length; j++) {
        if (length(i, j) + length(j, i) > length(i, i) + length(j, j) - 1e-6) continue;
        [column[i], column[j]] = [column[j], column[i]];
        shortened = true;
      }
    }
  }
}

/** Return heights near the wanted ones (ascending), a label apart and inside the frame. */
function spread(wanted, height) {
  const gap = Math.min(LABEL_PX, (height - LABEL_PX) / Math.max(wanted.length - 1, 1));
  const placed = [];
  for (const at of wanted) placed.push(Math.max(at, placed.length ? placed.at(-1) + gap : LABEL_PX / 2));
  let limit = height - LABEL_PX / 2;
  for (let i = placed.length - 1; i >= 0; i--) {
    placed[i] = Math.min(placed[i], limit);
    limit = placed[i] - gap;
  }
  return placed;
}

// The list of parts: what is sent in, how far it is, and what came out. Text goes in as text, never as markup.

const PAGE = 100;
const STATES = { waiting: "waits", running: "in work", done: "ready", set_aside: "set aside", cancelled: "cancelled" };
const BUCKETS = { routine: "Routine", involved: "Involved", demanding: "Demanding", not_as_modelled: "Not as modelled" };
const STAGES = ["load", "arrays", "recognise", "measure", "plan", "judge", "triage", "page"];
const STAGE_WORDS = { load: "reading", arrays: "reading", recognise: "finding features", measure: "measuring", plan: "planning setups", judge: "judging", triage: "sorting", page: "writing the report" };
const AT_ONCE = 4; // files sent at the same time

const $ = (id) => document.getElementById(id);
const heads = [...document.querySelectorAll("thead th")].map((head) => head.textContent.trim());
const rows = new Map(); // job id -> its row and last known state
const chosen = new Set();
const order = { sort: "difficulty", falling: false };
let cursor = null;
let loading = 0;

function make(tag, className, text) {
  const element = document.createElement(tag);
  if (className) element.className = className;
  if (text !== undefined && text !== null) element.textContent = text;
  return element;
}

function say(text) {
  $("said").textContent = text;
  clearTimeout(say.timer);
  say.timer = setTimeout(() => { $("said").textContent = ""; }, 5000);
}

async function call(address, options = {}) {
  const response = await fetch(address, { credentials: "same-origin", ...options });
  if (response.status === 401) { showDoor(); throw new Error("a token is needed"); }
  if (!response.ok) {
    const problem = await response.json().catch(() => ({}));
    throw new Error(problem.detail || `the service answered ${response.status}`);
  }
  return response;
}

const asJson = async (address, options) => (await call(address, options)).json();
const post = (address, body) => asJson(address, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });

// --- the door --------------------------------------------------------------------------------------------------

function showDoor() {
  $("inside").hidden = true;
  $("door").hidden = false;
  $("token").focus();
}

$("door").addEventListener("submit", async (event) => {
  event.preventDefault();
  try {
    const response = await fetch("/api/session", { method: "POST", headers: { Authorization: `Bearer ${$("token").value}` } });
    if (!response.ok) throw new Error("this token is not known");
    $("token").value = "";
    $("door").hidden = true;
    begin();
  } catch (error) { $("door-problem").textContent = error.message; }
});

// --- the list --------------------------------------------------------------------------------------------------

function restore() { // what the address says: so a reader who comes back, or is sent the address, sees the same list
  const said = new URLSearchParams(location.search);
  for (const field of $("filters").elements) if (field.name && said.has(field.name)) field.value = said.get(field.name);
  const sortable = [...document.querySelectorAll("th[data-sort]")].map((head) => head.dataset.sort);
  if (!sortable.includes(said.get("sort"))) return;
  Object.assign(order, { sort: said.get("sort"), falling: said.get("falling") === "true" });
}

function query() {
  const wanted = new URLSearchParams();
  for (const [name, value] of new FormData($("filters"))) if (value !== "") wanted.append(name, value);
  wanted.set("sort", order.sort);
  wanted.set("falling", order.falling);
  return wanted;
}

async function load(keep) {
  const mine = ++loading;
  const wanted = query();
  history.replaceState(null, "", `?${wanted}`);
  $("csv").href = `/api/export?form=csv&${wanted}`;
  $("xlsx").href = `/api/export?form=xlsx&${wanted}`;
  const many = keep ? Math.min(500, Math.max(PAGE, rows.size)) : PAGE;
  wanted.set("limit", many);
  const found = await asJson(`/api/jobs?${wanted}`);
  if (mine !== loading) return;
  const body = $("rows");
  const ids = new Set(found.jobs.map((job) => job.id));
  for (const [id, row] of rows) if (!ids.has(id)) { row.element.remove(); rows.delete(id); chosen.delete(id); }
  const focused = document.activeElement;
  found.jobs.forEach((job, place) => {
    const element = show(job);
    if (body.children[place] !== element) body.insertBefore(element, body.children[place] || null);
  });
  if (focused && focused !== document.activeElement && document.contains(focused)) focused.focus({ preventScroll: true });
  finish(found.next_cursor);
}

function finish(next) {
  cursor = next;
  $("more").hidden = next === null;
  $("empty").hidden = rows.size > 0;
  count();
}

async function loadMore() {
  const wanted = query();
  wanted.set("limit", PAGE);
  wanted.set("cursor", cursor);
  const found = await asJson(`/api/jobs?${wanted}`);
  for (const job of found.jobs) $("rows").append(show(job));
  finish(found.next_cursor);
}

function show(job) {
  let row = rows.get(job.id);
  if (row && row.touched === JSON.stringify(job)) return row.element;
  const element = row ? row.element : make("tr");
  row = { element, job, touched: JSON.stringify(job) };
  rows.set(job.id, row);
  element.dataset.job = job.id;
  element.dataset.state = job.state;
  element.replaceChildren(...cells(job));
  return element;
}

function cells(job) {
  const ready = job.state === "done" || job.state === "set_aside";
  const told = job.summary || {};
  const tick = make("td", "tick");
  const box = make("input");
  box.type = "checkbox";
  box.checked = chosen.has(job.id);
  box.setAttribute("aria-label", `Choose ${job.file_name}`);
  box.addEventListener("change", () => { box.checked ? chosen.add(job.id) : chosen.delete(job.id); count(); });
  tick.append(box);

  const picture = make("td", "picture");
  if (ready && told.bodies) {
    const image = make("img");
    image.src = `/api/jobs/${job.id}/picture`;
    image.alt = "";
    image.loading = "lazy";
    image.addEventListener("error", () => image.remove());
    picture.append(image);
  }

  const part = make("td", "part");
  const name = job.member ? `${job.member} (in ${job.file_name})` : job.file_name;
  if (ready) {
    const link = make("a", "", name);
    link.href = `/api/jobs/${job.id}/report?form=html`;
    part.append(link);
  } else part.append(make("span", "", name));
  const about = [told.product, job.customer].filter(Boolean).join(" · ");
  if (about) part.append(make("div", "sub", about));
  if (job.repair) part.append(make("div", "sub", "repaired first where unsound"));
  if (ready && told.bodies) part.append(files(job, name));

  const size = told.size_mm ? told.size_mm.map((each) => Math.round(each * 10) / 10).join(" × ") : "";
  const material = make("td", "material", job.material_used || job.material || "");
  material.append(make("div", "sub", job.quantity === 1 ? "1 piece" : `${job.quantity} pieces`));

  const sorted = make("td", "sorted");
  if (job.bucket) {
    sorted.append(make("span", `bucket ${job.bucket}`, BUCKETS[job.bucket] || job.bucket));
    if (told.why) {
      const why = make("div", "sub why", told.why.replace(`${BUCKETS[job.bucket]}: `, ""));
      why.title = told.why;
      sorted.append(why);
    }
  } else if (job.problem && ready) sorted.append(make("span", "problem", job.problem));

  const ask = make("td", "number ask");
  if (job.questions) {
    const button = make("button", "", String(job.questions));
    button.type = "button";
    button.title = "Copy the questions";
    button.setAttribute("aria-label", `Copy ${job.questions} questions about ${job.file_name}`);
    button.addEventListener("click", () => copyQuestions([job.id]));
    ask.append(button);
  } else ask.textContent = job.questions === 0 ? "0" : "";

  const late = job.due && job.due < new Date().toISOString().slice(0, 10);
  const due = make("td", late ? "due late" : "due", job.due || "");
  const all = [tick, picture, part, make("td", "size", size), material, sorted,
    make("td", "number time", duration(job.minutes)), make("td", "number setups", number(job.setups, 0)),
    make("td", "number radius", number(job.min_internal_radius_mm, 2)), ask, due, stage(job)];
  all.forEach((cell, place) => { cell.dataset.label = heads[place]; }); // shown where there is no room for columns
  return all;
}

const FILES = { pdf: "report as PDF", xlsx: "spreadsheet", csv: "features as CSV", step: "coloured STEP", glb: "glTF model" };

function files(job, name) {
  const all = make("details", "sub");
  const head = make("summary", "", "Files");
  head.setAttribute("aria-label", `Files of ${name}`);
  all.append(head);
  for (const [form, word] of Object.entries(FILES)) {
    const link = make("a", "", word);
    link.href = `/api/jobs/${job.id}/export?form=${form}`;
    link.setAttribute("download", "");
    all.append(link, " ");
  }
  return all;
}

function number(value, decimals) {
  if (value === null || value === undefined) return "";
  return decimals ? String(Math.round(value * 10 ** decimals) / 10 ** decimals) : value < 10 ? String(Math.round(value * 10) / 10) : String(Math.round(value));
}

function duration(minutes) { // as the reports say it
  if (minutes === null || minutes === undefined) return "";
  if (minutes < 1) return minutes > 0 ? `${Math.max(1, Math.round(minutes * 60))} s` : "0 min";
  const whole = Math.round(minutes);
  if (whole < 60) return `${whole} min`;
  const hours = Math.floor(whole / 60);
  if (hours >= 10) return `${Math.round(minutes / 60)} h`;
  return whole % 60 ? `${hours} h ${whole % 60} min` : `${hours} h`;
}

function stage(job) {
  const cell = make("td", `stage state-${job.state}`, STATES[job.state] || job.state);
  if (job.state === "running") {
    const bar = make("progress");
    bar.max = STAGES.length;
    bar.value = STAGES.indexOf(job.stage) + 1;
    bar.setAttribute("aria-label", "progress");
    cell.append(bar, make("div", "sub", STAGE_WORDS[job.stage] || "begins"));
  }
  if (job.state === "waiting" || job.state === "running") {
    const stop = make("button", "", "Stop");
    stop.type = "button";
    stop.setAttribute("aria-label", `Stop ${job.file_name}`);
    stop.addEventListener("click", () => attempt(async () => { await post(`/api/jobs/${job.id}/cancel`, {}); await load(true); }));
    cell.append(stop);
  }
  if (job.status === "partial" && job.state === "done") cell.append(make("div", "sub", "in part"));
  if (job.status === "unreadable" && job.state === "done") cell.replaceChildren("cannot be read");
  return cell;
}

function count() {
  const number = chosen.size;
  $("chosen").textContent = number ? `${number} chosen` : "none chosen";
  $("compare").disabled = number !== 2;
  for (const id of ["again", "ask", "strike"]) $(id).disabled = number === 0;
  $("all").checked = number > 0 && number === rows.size;
}

async function overview() {
  const told = await asJson("/api/overview");
  const words = Object.keys(STATES).filter((state) => told.states[state]).map((state) => `${told.states[state]} ${STATES[state]}`);
  $("tally").textContent = words.join(" · ");
  fill($("filters").elements.material, told.materials);
  $("materials").replaceChildren(...told.materials.map((name) => { const option = make("option"); option.value = name; return option; }));
  for (const select of document.querySelectorAll("select[data-names=shop]")) fill(select, told.shops);
}

function fill(select, names) {
  const before = select.value;
  select.replaceChildren(select.options[0], ...names.map((name) => { const option = make("option", "", name); option.value = name; return option; }));
  select.value = names.includes(before) ? before : "";
}

const attempt = (what) => what().catch((error) => say(error.message));

// --- what is done with chosen parts ------------------------------------------------------------------------------

async function copyQuestions(ids) {
  await attempt(async () => {
    const parts = [];
    for (const id of ids) {
      const text = await (await call(`/api/jobs/${id}/questions`)).text();
      if (text) parts.push(ids.length > 1 ? `${rows.get(id).job.file_name}\n${text}` : text);
    }
    if (!parts.length) { say("there is nothing to ask"); return; }
    await toClipboard(parts.join("\n"));
    say("the questions are copied");
  });
}

async function toClipboard(text) {
  if (navigator.clipboard) { await navigator.clipboard.writeText(text); return; }
  const area = make("textarea"); // where the address is neither https nor this machine's
  area.value = text;
  document.body.append(area);
  area.select();
  document.execCommand("copy");
  area.remove();
}

$("ask").addEventListener("click", () => copyQuestions([...chosen]));
$("compare").addEventListener("click", () => {
  const [old, fresh] = [...chosen].map((id) => rows.get(id).job).sort((a, b) => a.number - b.number);
  location.href = `/compare?old=${old.id}&new=${fresh.id}`;
});
$("again").addEventListener("click", () => attempt(async () => {
  const wanted = new URLSearchParams();
  for (const name of ["shop", "repair"]) if ($(`again-${name}`).value !== "") wanted.set(name, $(`again-${name}`).value);
  const made = await post(`/api/batch/again?${wanted}`, { jobs: [...chosen] });
  chosen.clear();
  say(`${made.jobs.length} judged again`);
  await load(true);
}));
$("strike").addEventListener("click", () => attempt(async () => {
  if (!confirm(`Delete ${chosen.size} from the list, with their reports?`)) return;
  await post("/api/batch/delete", { jobs: [...chosen] });
  chosen.clear();
  await Promise.all([load(true), overview()]);
}));
$("all").addEventListener("change", () => {
  for (const [id, row] of rows) { row.element.querySelector("input").checked = $("all").checked; $("all").checked ? chosen.add(id) : chosen.delete(id); }
  count();
});
$("more").addEventListener("click", () => attempt(loadMore));

// --- sorting and filters -------------------------------------------------------------------------------------------

function mark() {
  for (const head of document.querySelectorAll("th[data-sort]")) {
    if (head.dataset.sort === order.sort) head.setAttribute("aria-sort", order.falling ? "descending" : "ascending");
    else head.removeAttribute("aria-sort");
  }
  const plain = order.sort === "difficulty" && !order.falling;
  $("list-title").textContent = plain ? "The list, easy to hard" : "The list";
  $("easy").hidden = plain;
}

for (const head of document.querySelectorAll("th[data-sort]")) {
  head.querySelector("button").addEventListener("click", () => {
    order.falling = order.sort === head.dataset.sort ? !order.falling : false;
    order.sort = head.dataset.sort;
    mark();
    attempt(() => load(false));
  });
}
$("easy").addEventListener("click", () => {
  Object.assign(order, { sort: "difficulty", falling: false });
  mark();
  attempt(() => load(false));
});
$("filters").addEventListener("input", () => { clearTimeout(load.timer); load.timer = setTimeout(() => attempt(() => load(false)), 250); });
$("filters").addEventListener("submit", (event) => event.preventDefault());
$("filters").addEventListener("reset", () => setTimeout(() => attempt(() => load(false))));
document.addEventListener("keydown", (event) => {
  const typing = event.target.closest("input, select, textarea");
  if (event.key === "/" && !typing) { event.preventDefault(); $("filters").elements.name.focus(); }
  const row = event.target.closest("tbody tr");
  if (row && (event.key === "ArrowDown" || event.key === "ArrowUp")) {
    const next = event.key === "ArrowDown" ? row.nextElementSibling : row.previousElementSibling;
    const target = next && (next.querySelector(".part a") || next.querySelector("input"));
    if (target) { event.preventDefault(); target.focus(); }
  }
});

// --- sending in -------------------------------------------------------------------------------------------------

const waiting = [];
let sending = 0;

function take(files) {
  const terms = new URLSearchParams();
  for (const [name, value] of formValues($("terms"))) if (value !== "") terms.set(name, value);
  for (const file of files) {
    const item = make("li");
    const bar = make("progress");
    bar.max = 1;
    bar.value = 0;
    const word = make("span", "", "waits to be sent");
    item.append(make("span", "name", file.name), bar, word);
    $("sending").prepend(item);
    waiting.push({ file, terms, item, bar, word });
  }
  sendNext();
}

function formValues(fieldset) {
  return [...fieldset.elements].filter((each) => each.name).map((each) => [each.name, each.value]);
}

function sendNext() {
  while (sending < AT_ONCE && waiting.length) {
    sending += 1;
    send(waiting.shift()).finally(() => { sending -= 1; sendNext(); });
  }
}

function send({ file, terms, item, bar, word }) {
  return new Promise((done) => {
    const query = new URLSearchParams(terms);
    query.set("file_name", file.name);
    const request = new XMLHttpRequest();
    request.open("POST", `/api/jobs?${query}`);
    request.setRequestHeader("Content-Type", "application/octet-stream");
    request.setRequestHeader("Idempotency-Key", crypto.getRandomValues(new Uint32Array(4)).join("-"));
    request.upload.addEventListener("progress", (event) => { bar.value = event.total ? event.loaded / event.total : 0; word.textContent = "being sent"; });
    const fail = (text) => { item.classList.add("bad"); bar.remove(); word.textContent = text; done(); };
    request.addEventListener("error", () => fail("the line broke: drop it again"));
    request.addEventListener("load", () => {
      if (request.status === 201) {
        bar.value = 1;
        const jobs = JSON.parse(request.responseText).jobs.length;
        word.textContent = jobs === 1 ? "arrived" : `arrived: ${jobs} models`;
        setTimeout(() => item.remove(), 4000);
        refresh();
        done();
      } else {
        let text = `refused (${request.status})`;
        try { text = JSON.parse(request.responseText).detail || text; } catch { /* not ours */ }
        fail(text);
      }
    });
    request.send(file);
  });
}

$("files").addEventListener("change", () => { take($("files").files); $("files").value = ""; });
$("pick").addEventListener("click", () => $("files").click());
for (const kind of ["dragenter", "dragover"]) document.addEventListener(kind, (event) => { event.preventDefault(); document.body.classList.add("over"); });
for (const kind of ["dragleave", "drop"]) document.addEventListener(kind, (event) => { event.preventDefault(); if (kind === "drop" || !event.relatedTarget) document.body.classList.remove("over"); });
document.addEventListener("drop", (event) => { if (event.dataTransfer.files.length) take(event.dataTransfer.files); });

// --- little room ----------------------------------------------------------------------------------------------------

const little = matchMedia("screen and (max-width: 900px)");
const fold = () => { for (const each of document.querySelectorAll(".fold")) each.open = !little.matches; };
little.addEventListener("change", fold);
fold();

// --- what changes by itself -----------------------------------------------------------------------------------------

let due = null;
function refresh() {
  if (due !== null) return;
  due = setTimeout(() => { due = null; attempt(() => Promise.all([load(true), overview()])); }, 600);
}

function listen() {
  const line = $("line");
  const stream = new EventSource("/api/events");
  stream.addEventListener("open", () => { line.textContent = "live"; line.classList.add("live"); });
  stream.addEventListener("error", () => { line.textContent = "line lost, trying again"; line.classList.remove("live"); });
  stream.addEventListener("job", (event) => {
    const job = JSON.parse(event.data);
    const row = rows.get(job.id);
    if (row && job.state === "running") show(job);
    if (!row || row.job.state !== job.state || job.state !== "running") refresh();
  });
}

async function begin() {
  try {
    await overview();
    $("inside").hidden = false;
    if (!begin.listening) restore();
    mark();
    await load(false);
    if (!begin.listening) { begin.listening = true; listen(); }
  } catch (error) { say(error.message); }
}

begin();

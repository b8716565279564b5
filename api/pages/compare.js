// Two revisions: asks for the comparison, shows it as tall as it is, and loads both reports when they are wanted.

const $ = (id) => document.getElementById(id);
const pause = (seconds) => new Promise((done) => setTimeout(done, 1000 * seconds));

async function comparison(address) {
  for (;;) {
    const response = await fetch(address, { credentials: "same-origin" });
    if (response.ok) return response.json();
    const problem = await response.json().catch(() => ({}));
    if (response.status !== 503) throw new Error(problem.detail || `the service answered ${response.status}`);
    await pause(Number(response.headers.get("Retry-After")) || 10);
  }
}

function fit(frame) {
  frame.style.height = `${Math.ceil(frame.contentDocument.body.getBoundingClientRect().height)}px`;
}

async function show(frame) {
  const address = frame.dataset.address;
  try {
    await comparison(address);
  } catch (error) {
    $("comparing").textContent = error.message;
    $("comparing").className = "problem";
    return;
  }
  frame.addEventListener("load", () => {
    $("comparing").hidden = true;
    frame.contentDocument.querySelector("header").style.display = "none"; // this page has one
    fit(frame);
    new ResizeObserver(() => fit(frame)).observe(frame.contentDocument.body);
  });
  frame.hidden = false;
  frame.src = `${address}&form=html`;
}

$("reports").addEventListener("toggle", () => {
  for (const frame of $("reports").querySelectorAll("iframe:not([src])")) frame.src = frame.dataset.src;
}, { once: true });
show($("changed"));

// The list can be read without this; it filters and orders the lines that are there.
const form = document.querySelector("form.filters");
const body = document.querySelector("table.batch tbody");
const rows = Array.from(body.rows);
const keys = {
  rank: () => 0,
  minutes: (a, b) => b.dataset.minutes - a.dataset.minutes,
  questions: (a, b) => b.dataset.questions - a.dataset.questions,
  name: (a, b) => a.dataset.name.localeCompare(b.dataset.name),
};

function apply() {
  const wanted = new FormData(form);
  const [name, buckets] = [wanted.get("name").trim().toLowerCase(), wanted.getAll("bucket")];
  let shown = 0;
  for (const row of rows) {
    const { bucket, questions } = row.dataset;
    row.hidden = !buckets.includes(bucket) || !row.dataset.name.includes(name)
      || (wanted.has("once") && row.classList.contains("twin")) || (wanted.has("asks") && questions === "0");
    if (!row.hidden) shown++;
  }
  body.append(...rows.slice().sort(keys[wanted.get("order")]));
  form.querySelector("output").textContent = `${shown} / ${rows.length}`;
  document.querySelector(".nothing").hidden = shown > 0;
}

form.addEventListener("input", apply);
form.addEventListener("submit", (event) => event.preventDefault());
form.hidden = false;
apply();

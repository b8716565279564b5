// Everything on the page can be read without this; it adds the copy buttons and starts the viewer.
for (const button of document.querySelectorAll("button.copy")) {
  const list = document.getElementById(button.dataset.copy);
  const label = [...button.childNodes];
  button.hidden = false;
  button.addEventListener("click", async () => {
    const lines = Array.from(list.children, (item, i) => `${i + 1}. ${item.querySelector(".head").innerText.trim()}`);
    const template = document.getElementById((await copied(lines.join("\n"))) ? "copied" : "not-copied");
    button.replaceChildren(template.content.cloneNode(true));
    setTimeout(() => { button.replaceChildren(...label); }, 3000);
  });
}

async function copied(text) {
  try {
    await navigator.clipboard.writeText(text);
    return true;
  } catch {
    const field = document.createElement("textarea");
    field.value = text;
    document.body.append(field);
    field.select();
    const done = document.execCommand("copy");
    field.remove();
    return done;
  }
}

// The viewer comes packed; the policy lets this one text run, by its hash.
const code = document.getElementById("viewer-code");
if (code && window.DecompressionStream) {
  const letters = atob(code.textContent);
  const bytes = new Uint8Array(letters.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = letters.charCodeAt(i);
  const unpacked = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  new Response(unpacked).text().then((text) => {
    const script = document.createElement("script");
    script.textContent = text;
    document.head.append(script);
  });
} else {
  document.documentElement.classList.add("pictures-only", "settled");
}

// Forms keep what was typed, survive a lost connection, and are sent once.
// A form with data-keep holds a draft on this device until its write is answered.

const draftKey = (form) => `draft ${location.pathname} ${form.dataset.keep}`;
const typed = (form) =>
  [...form.elements].filter((one) => one.name && !["hidden", "file", "submit", "button"].includes(one.type));

function keepDraft(form) {
  const values = typed(form).map((one) => [one.name, one.type === "checkbox" ? one.checked : one.value]);
  localStorage.setItem(draftKey(form), JSON.stringify({ at: Date.now(), values }));
}

function offerDraft(form) {
  const kept = localStorage.getItem(draftKey(form));
  if (!kept || form.querySelector("[aria-invalid]")) return;
  const { at, values } = JSON.parse(kept);
  const fields = typed(form);
  const differs = values.some(([name, value], n) => {
    const one = fields[n];
    return one && one.name === name && value !== (one.type === "checkbox" ? one.checked : one.value);
  });
  if (!differs) return;
  const line = say(form, `This form was begun on ${new Date(at).toLocaleString()} and not sent. `);
  const button = document.createElement("button");
  button.type = "button";
  button.className = "quiet";
  button.textContent = "Put back what I typed";
  button.addEventListener("click", () => {
    values.forEach(([name, value], n) => {
      const one = fields[n];
      if (!one || one.name !== name) return;
      if (one.type === "checkbox") one.checked = value;
      else one.value = value;
    });
    line.replaceChildren("What you had typed is back.");
  });
  line.append(button);
}

function say(form, words) {
  let line = form.querySelector(":scope > .form-status");
  if (!line) {
    line = document.createElement("p");
    line.className = "form-status";
    line.setAttribute("role", "status");
    form.prepend(line);
  }
  line.replaceChildren(words);
  return line;
}

async function send(event) {
  const form = event.target.closest("form[data-keep]");
  if (!form || event.defaultPrevented) return;
  event.preventDefault();
  if (form.dataset.sending) return;
  form.dataset.sending = "yes";
  const body = new FormData(form, event.submitter);
  const plain = form.enctype === "multipart/form-data" ? body : new URLSearchParams(body);
  const action = event.submitter?.getAttribute("formaction") ?? form.getAttribute("action") ?? location.href;
  say(form, "Sending …");
  try {
    const answer = await fetch(action, { method: "POST", body: plain });
    const text = await answer.text();
    if (answer.redirected && answer.ok) {
      localStorage.removeItem(draftKey(form));
      location.assign(answer.url);
      return;
    }
    showAnswer(text, form);
  } catch {
    keepDraft(form);
    say(form, "Not saved: the server cannot be reached. Everything you typed is still here and kept on this device; send it again when the connection is back.");
  }
  delete form.dataset.sending;
}

// An answer that is no redirect is a form with what is wrong, or a page that says what broke.
function showAnswer(text, form) {
  const page = new DOMParser().parseFromString(text, "text/html");
  const main = page.querySelector("main");
  if (main?.querySelector("form[data-keep]")) {
    document.querySelector("main").replaceWith(document.adoptNode(main));
    begin(document);
    const first = document.querySelector("#wrong") ?? document.querySelector("main");
    first.setAttribute("tabindex", "-1");
    first.focus();
  } else {
    keepDraft(form);
    say(form, main?.querySelector("h1") ? `${main.querySelector("h1").textContent}. ${main.querySelector(".lead")?.textContent ?? ""}` : "The answer could not be read.");
  }
}

function begin(root) {
  for (const form of root.querySelectorAll("form[data-keep]")) offerDraft(form);
  document.dispatchEvent(new CustomEvent("ramet:shown"));
  if (window.htmx) window.htmx.process(document.body);
}

document.addEventListener("submit", send);
document.addEventListener("input", (event) => {
  const form = event.target.closest?.("form[data-keep]");
  if (form) keepDraft(form);
});
for (const form of document.querySelectorAll("form[data-keep]")) offerDraft(form);
// A partial update that cannot be had says so instead of doing nothing.
document.addEventListener("htmx:sendError", () => {
  const main = document.querySelector("main");
  let line = main.querySelector(":scope > .offline");
  if (!line) {
    line = document.createElement("p");
    line.className = "notice bad offline";
    line.setAttribute("role", "alert");
    main.prepend(line);
  }
  line.textContent = "The server cannot be reached just now; what you see may be old.";
});
document.addEventListener("htmx:afterOnLoad", () => document.querySelector("main > .offline")?.remove());

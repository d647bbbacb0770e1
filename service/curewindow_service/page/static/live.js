// Brings pages up to date without reloading, and adds − and + to number fields.
// Everything works without this file, by ordinary links and forms.
"use strict";
(function () {
  const body = document.body, said = document.getElementById("said"), lost = document.getElementById("lost");
  const main = document.getElementById("main");
  let version = Number(body.dataset.version), busy = false;

  function say(text) { said.textContent = text; }

  async function bringUpToDate() {
    if (busy) return;
    busy = true;
    try {
      const answer = await fetch(location.href, { headers: { accept: "text/html" }, credentials: "same-origin" });
      if (!answer.ok && answer.status !== 503) { if (answer.status === 401 || answer.redirected) location.reload(); return; }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const fresh = page.getElementById("main");
      if (!fresh || !fresh.hasAttribute("data-live")) return;
      version = Number(page.body.dataset.version);
      if (fresh.innerHTML === main.innerHTML) return;
      const open = [...main.querySelectorAll("details[open][id]")].map((each) => each.id);
      const at = document.activeElement && main.contains(document.activeElement) ? document.activeElement.getAttribute("href") || "" : null;
      const from = scrollY;
      main.replaceChildren(...fresh.childNodes);
      open.forEach((id) => { const each = document.getElementById(id); if (each) each.open = true; });
      if (at !== null) { const same = [...main.querySelectorAll("a[href]")].find((a) => a.getAttribute("href") === at); (same || main).focus({ preventScroll: true }); }
      scrollTo({ top: from, behavior: "instant" });
      document.title = page.title;
      say("Brought up to date " + new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" }));
    } catch (_) { /* the line is down: 'lost' says so */ } finally { busy = false; }
  }

  if (main.hasAttribute("data-live") || body.dataset.notices) {
    let timer = 0;
    const news = new EventSource("/events");
    news.addEventListener("state", (event) => {
      clearTimeout(timer); timer = 0; lost.hidden = true;
      const now = JSON.parse(event.data);
      if (main.hasAttribute("data-live")) {
        // not all phones at the same instant
        if (now.version !== version) setTimeout(bringUpToDate, Math.random() * 400);
      } else if (now.notices !== Number(body.dataset.notices)) {
        say("There are newer reminders: reload to see them.");
      }
    });
    news.addEventListener("error", () => {
      if (!timer) timer = setTimeout(() => { lost.hidden = false; }, 8000);
    });
    addEventListener("pagehide", () => news.close());
    addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
  }

  document.querySelectorAll("button[data-step]").forEach((button) => {
    button.hidden = false;
    button.addEventListener("click", () => {
      const field = document.getElementById(button.dataset.for), step = Number(button.dataset.step);
      const now = parseFloat((field.value || field.dataset.about || "0").replace(",", ".").replace("−", "-"));
      // the first tap begins at what is worked out, rounded to a step
      const size = Math.abs(step), next = Math.round(((isNaN(now) ? 0 : now) + step) / size) * size;
      field.value = String(Math.round(next * 10) / 10);
    });
  });
  document.querySelectorAll("form[method=post]").forEach((form) => {
    let sent = false;
    form.addEventListener("submit", (event) => { if (sent) event.preventDefault(); sent = true; setTimeout(() => { sent = false; }, 3000); });
  });
  const wrong = document.getElementById("wrong");
  if (wrong) wrong.focus();
})();

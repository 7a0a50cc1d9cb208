// Timers on a phone: a press is kept on the phone until it has arrived, however long that takes.
// Without this script the same forms are sent plainly.
(() => {
  "use strict";
  const log = document.querySelector(".work-log");
  if (!log) return;
  const place = `work-log-presses-${log.dataset.who}`;
  const kept = document.getElementById("kept");
  const words = log.dataset;
  let sending = false;

  const queue = () => {
    try { return JSON.parse(localStorage.getItem(place)) || []; } catch { return []; }
  };
  const keep = (presses) => localStorage.setItem(place, JSON.stringify(presses));
  // By what it is, not by its place: another window may have sent it too.
  const drop = (sent) => keep(queue().filter((one) =>
    one.key !== sent.key || one.kind !== sent.kind || one.pressed !== sent.pressed));
  const token = () => log.querySelector("input[name=csrfmiddlewaretoken]").value;
  const clock = (ms) => new Date(ms).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit", hourCycle: "h23" });

  // What is kept is told at the top, with its own stop button while a start is the last press.
  const tell = (said) => {
    const presses = queue();
    kept.hidden = presses.length === 0;
    if (kept.hidden) return;
    const last = presses[presses.length - 1];
    const runs = last.kind === "start";
    kept.querySelector("b").textContent =
      `${last.step} ${runs ? words.wordsSince : words.wordsStopped} ${clock(last.pressed)}`;
    kept.querySelector("span").textContent = said || words.wordsKept;
    const form = kept.querySelector("form");
    form.hidden = !runs;
    form.dataset.step = last.step;
    form.elements.key.value = last.key;
  };

  const send = async (press) => {
    const body = new URLSearchParams(press.values);
    body.set("csrfmiddlewaretoken", token());
    body.set("ago_s", String(Math.max(0, (Date.now() - press.pressed) / 1000)));
    const answer = await fetch(press.to, {
      method: "POST", body, keepalive: true, headers: { Accept: "application/json" },
    });
    const type = answer.headers.get("Content-Type") || "";
    if (type.startsWith("application/json") || answer.status === 404) return "arrived"; // 404: it is gone
    return answer.ok || answer.status === 403 ? "login" : "later";
  };

  const flush = async () => {
    if (sending) return;
    sending = true;
    let arrived = 0;
    let said = "";
    try {
      for (let presses = queue(); presses.length; presses = queue()) {
        const outcome = await send(presses[0]).catch(() => "later");
        if (outcome === "later" || outcome === "login") {
          said = outcome === "login" ? words.wordsLogin : words.wordsKept;
          break;
        }
        drop(presses[0]);
        arrived += 1;
      }
    } finally {
      sending = false;
    }
    tell(said);
    if (arrived && queue().length === 0) location.reload();
  };

  log.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.dataset.press) return;
    const values = [...new FormData(form)].filter(([name]) => name !== "csrfmiddlewaretoken");
    const named = Object.fromEntries(values);
    try {
      keep([...queue(), {
        kind: form.dataset.press, to: form.action, values, key: named.key,
        step: form.dataset.step || named.step || "", pressed: Date.now(),
      }]);
    } catch {
      return; // nothing can be kept on this phone: the form is sent plainly
    }
    event.preventDefault();
    tell("");
    flush();
  });

  // The clock of each timer goes on from what the workshop's own clock said.
  const loaded = Date.now();
  const tick = () => {
    for (const shown of log.querySelectorAll("[data-ran-min]")) {
      const seconds = Math.floor(Number(shown.dataset.ranMin) * 60 + (Date.now() - loaded) / 1000);
      const parts = [Math.floor(seconds / 3600), Math.floor(seconds / 60) % 60, seconds % 60];
      shown.textContent = parts.map((part) => String(part).padStart(2, "0")).join(":");
    }
  };
  tick();
  setInterval(tick, 1000);
  setInterval(() => { if (queue().length) flush(); }, 15000);
  addEventListener("online", flush);
  addEventListener("pageshow", (event) => { if (event.persisted) location.reload(); });
  tell("");
  flush();
})();

// A form is sent when the workshop can be reached and its sender is still logged in; else the page
// stays, with all that was typed.
// Without this script the same forms are sent plainly.
(() => {
  "use strict";
  const PATIENCE_MS = 10000;
  const TWICE_MS = 2000; // a second press this soon means the first
  const LOGGED_OUT = 401;
  const AGAIN_BY = ["input", "change", "submit", "click"];
  const told = document.getElementById("not-sent");
  if (!told || !HTMLFormElement.prototype.requestSubmit) return; // an old browser sends plainly
  const asking = new WeakSet();
  const cleared = new WeakSet();
  const sent = new WeakMap();
  let note = null;

  const quiet = () => { note?.remove(); note = null; };
  const tell = (isSaving, isOut, again) => {
    if (note && !again) return; // what looks again by itself says so once
    quiet();
    note = told.content.firstElementChild.cloneNode(true);
    const now = [isSaving ? "saving" : "looking", isOut ? "out" : "away"];
    for (const words of note.querySelectorAll("[data-when]"))
      words.hidden = !words.dataset.when.split(" ").every((when) => now.includes(when));
    const [tryAgain, close] = note.querySelectorAll("button");
    tryAgain.hidden = !again;
    tryAgain.addEventListener("click", () => { quiet(); again(); });
    close.addEventListener("click", quiet);
    // Read out by itself: the focus stays where it is.
    document.getElementById("content").append(note);
  };

  // Who has logged in again meanwhile has a new token, which every form here must carry.
  const renew = (token) => {
    for (const field of document.getElementsByName("csrfmiddlewaretoken")) field.value = token;
  };

  // How it stands: "in", "out" for one who is logged out by now, or "away".
  const reached = () => fetch(told.dataset.reach, {
    cache: "no-store", redirect: "manual", signal: AbortSignal.timeout?.(PATIENCE_MS),
  }).then(async (answer) => {
    if (answer.type === "opaqueredirect") return "out"; // to the login
    if (answer.status >= 500) return "away";
    if (answer.ok && "token" in told.dataset) renew(await answer.text());
    return "in";
  }).catch(() => "away");

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    const button = event.submitter;
    const method = button?.getAttribute("formmethod") || form.getAttribute("method") || "get";
    if (event.defaultPrevented || method.toLowerCase() !== "post") return;
    if (cleared.delete(form)) {
      sent.set(form, performance.now());
      return;
    }
    event.preventDefault();
    if (asking.has(form) || performance.now() - (sent.get(form) ?? -TWICE_MS) < TWICE_MS) return;
    asking.add(form);
    const stands = await reached();
    asking.delete(form);
    const send = () => form.requestSubmit(button?.isConnected ? button : undefined);
    if (stands !== "in") return tell(true, stands === "out", send);
    quiet();
    cleared.add(form);
    send();
    cleared.delete(form); // a fault the browser itself found left it there
  });

  const failed = ({ detail }) => {
    const status = detail.xhr?.status;
    if (status && status < 500 && status !== LOGGED_OUT) return;
    const { verb, triggeringEvent } = detail.requestConfig;
    const kind = triggeringEvent?.type;
    // First the token, in case its sender has logged in again.
    const again = () => reached().then(() => htmx.trigger(detail.elt, kind));
    const isSaving = verb === "post" && kind === "submit";
    tell(isSaving, status === LOGGED_OUT, AGAIN_BY.includes(kind) ? again : null);
  };
  for (const name of ["sendError", "timeout", "responseError"])
    document.addEventListener(`htmx:${name}`, failed);
  document.addEventListener("htmx:afterRequest", ({ detail }) => { if (detail.successful) quiet(); });
})();

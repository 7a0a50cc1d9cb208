// A form is sent when the workshop can be reached; else the page stays, with all that was typed.
// Without this script the same forms are sent plainly.
(() => {
  "use strict";
  const PATIENCE_MS = 10000;
  const TWICE_MS = 2000; // a second press this soon means the first
  const AGAIN_BY = ["input", "change", "submit", "click"];
  const told = document.getElementById("not-sent");
  if (!told || !HTMLFormElement.prototype.requestSubmit) return; // an old browser sends plainly
  const asking = new WeakSet();
  const cleared = new WeakSet();
  const sent = new WeakMap();
  let note = null;

  const quiet = () => { note?.remove(); note = null; };
  const tell = (isSaving, again) => {
    quiet();
    note = told.content.firstElementChild.cloneNode(true);
    for (const words of note.querySelectorAll("[data-when]"))
      words.hidden = (words.dataset.when === "saving") !== isSaving;
    const [tryAgain, close] = note.querySelectorAll("button");
    tryAgain.hidden = !again;
    tryAgain.addEventListener("click", () => { quiet(); again(); });
    close.addEventListener("click", quiet);
    // Read out by itself: the focus stays where it is.
    document.getElementById("content").append(note);
  };

  const reached = () => fetch(told.dataset.reach, {
    method: "HEAD", cache: "no-store", signal: AbortSignal.timeout?.(PATIENCE_MS),
  }).then((answer) => answer.status < 500).catch(() => false);

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
    const isReached = await reached();
    asking.delete(form);
    const send = () => form.requestSubmit(button?.isConnected ? button : undefined);
    if (!isReached) return tell(true, send);
    quiet();
    cleared.add(form);
    send();
    cleared.delete(form); // a fault the browser itself found left it there
  });

  const failed = ({ detail }) => {
    if (detail.xhr?.status && detail.xhr.status < 500) return;
    const { verb, triggeringEvent } = detail.requestConfig;
    const kind = triggeringEvent?.type;
    const again = () => htmx.trigger(detail.elt, kind);
    tell(verb === "post" && kind === "submit", AGAIN_BY.includes(kind) ? again : null);
  };
  for (const name of ["sendError", "timeout", "responseError"])
    document.addEventListener(`htmx:${name}`, failed);
  document.addEventListener("htmx:afterRequest", ({ detail }) => { if (detail.successful) quiet(); });
})();

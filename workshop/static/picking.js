/* A piece picked in one drawing is marked in all of them: flat as it is cut, and on the foot. By
   pointer in a drawing, by pointer or keys in the list of pieces, whose links do the same without
   this script. */
(() => {
  "use strict";
  const DRAG_PX = 5;
  let picked = new URLSearchParams(location.search).get("piece") ?? "";
  let down = null;

  const mark = () => {
    for (const room of document.querySelectorAll("[data-piece]")) {
      room.classList.toggle("picked", room.dataset.piece === picked);
    }
    for (const link of document.querySelectorAll("[data-pick]")) {
      if (link.dataset.pick === picked) link.setAttribute("aria-current", "true");
      else link.removeAttribute("aria-current");
    }
  };

  const pick = (name) => {
    picked = name === picked ? "" : name;
    const address = new URL(location.href);
    if (picked) address.searchParams.set("piece", picked);
    else address.searchParams.delete("piece");
    history.replaceState(history.state, "", address);
    mark();
  };

  document.addEventListener("pointerdown", (event) => { down = event; });
  document.addEventListener("click", (event) => {
    if (!(event.target instanceof Element)) return;
    const link = event.target.closest("[data-pick]");
    if (link && !(event.ctrlKey || event.metaKey || event.shiftKey)) {
      event.preventDefault();
      pick(link.dataset.pick);
      return;
    }
    const room = event.target.closest("[data-picks] [data-piece]");
    if (!room || room.closest(".seeing-measures")) return;
    // Drawn along to see another part of it, the drawing picks nothing.
    if (down && Math.hypot(event.clientX - down.clientX, event.clientY - down.clientY) > DRAG_PX) return;
    pick(room.dataset.piece);
  });
  document.documentElement.classList.add("picks");
  document.addEventListener("DOMContentLoaded", mark);
  document.addEventListener("htmx:load", mark);
})();

// Slips open by click and key without any of this; here they also open when a figure or a mark is pointed at.
"use strict";
const free = document.createElement("div");
free.className = "slip";
free.popover = "manual";
document.body.append(free);

function place(slip, near) {
  const box = near.getBoundingClientRect(), below = window.innerHeight - box.bottom;
  if (window.innerWidth < 640) return;
  const left = Math.max(8, Math.min(box.left, window.innerWidth - slip.offsetWidth - 8));
  Object.assign(slip.style, { left: left + "px", right: "auto", margin: "0" });
  if (below > slip.offsetHeight + 12) Object.assign(slip.style, { top: box.bottom + 6 + "px", bottom: "auto" });
  else Object.assign(slip.style, { top: "auto", bottom: window.innerHeight - box.top + 6 + "px" });
}

for (const button of document.querySelectorAll(".why")) {
  const slip = document.getElementById(button.getAttribute("popovertarget"));
  slip.addEventListener("toggle", (event) => event.newState === "open" && place(slip, button));
}
function told(mark) {
  free.replaceChildren(...mark.getAttribute("aria-label").split("\n").map((line) => {
    const text = document.createElement("p");
    text.textContent = line;
    return text;
  }));
  free.showPopover();
  place(free, mark);
}
let over = null;
document.addEventListener("pointerover", (event) => {
  const button = event.target.closest(".why"), mark = event.target.closest("svg [aria-label]");
  if (event.pointerType === "mouse" && button && !document.querySelector(".slip:popover-open")) {
    over = document.getElementById(button.getAttribute("popovertarget"));
    over.showPopover();
  } else if (mark) told(mark);
});
document.addEventListener("pointerout", (event) => {
  if (event.pointerType === "mouse" && over && event.target.closest(".why")) { over.hidePopover(); over = null; }
  if (event.pointerType === "mouse" && event.target.closest("svg [aria-label]")) free.hidePopover();
});
document.addEventListener("pointerdown", (event) => {
  if (over && event.target.closest(".why")) over = null;
  if (!event.target.closest("svg [aria-label], .slip") && free.matches(":popover-open")) free.hidePopover();
});
document.addEventListener("keydown", (event) => event.key === "Escape" && free.matches(":popover-open") && free.hidePopover());

"use strict";
// Copying, and closing a note with Escape. Everything else on the page works without this.
for (const button of document.querySelectorAll("button.copy")) button.hidden = false;
document.addEventListener("click", async (event) => {
  const button = event.target.closest("button.copy");
  if (!button) return;
  const text = document.getElementById(button.dataset.copy);
  const label = button.dataset.label ||= button.textContent;
  let done = false;
  try {
    await navigator.clipboard.writeText(text.textContent);
    done = true;
  } catch {
    const range = document.createRange();
    range.selectNodeContents(text);
    getSelection().removeAllRanges();
    getSelection().addRange(range);
  }
  button.textContent = done ? button.dataset.done : button.dataset.failed;
  button.setAttribute("aria-live", "polite");
  setTimeout(() => { button.textContent = label; }, 4000);
});
document.addEventListener("keydown", (event) => {
  if (event.key !== "Escape") return;
  for (const mark of document.querySelectorAll(".mark:hover, .mark:focus-within")) mark.classList.add("shut");
});
for (const kind of ["pointerout", "focusout"]) {
  document.addEventListener(kind, (event) => event.target.closest?.(".mark")?.classList.remove("shut"));
}
// A note stands under its mark, as far as the box around the words leaves room for it.
for (const kind of ["pointerover", "focusin"]) {
  document.addEventListener(kind, (event) => {
    const mark = event.target.closest?.(".mark");
    const tip = mark?.querySelector(".tip");
    if (!tip || tip.contains(event.target)) return;
    const box = mark.closest(".words").getBoundingClientRect();
    const lines = mark.firstElementChild.getClientRects();
    const left = lines[lines.length - 1].left - box.left;
    tip.style.left = `${Math.max(0, Math.min(left, box.width - tip.offsetWidth - 2))}px`;
  });
}
// A mark leads into folded text: unfold it first.
document.addEventListener("click", (event) => {
  const link = event.target.closest('a[href^="#"]');
  const target = link && document.getElementById(link.getAttribute("href").slice(1));
  for (let up = target; up; up = up.parentElement) if (up.tagName === "DETAILS") up.open = true;
});

"use strict";
// The result follows what is typed; a file dropped is sent like one that was chosen; a fold of a wishlist is fetched
// when it is opened. No data leaves 127.0.0.1, and all of it works without this but live reading and dropping.
const status = document.getElementById("status");

const takeDrops = (zone, took) => {
  zone.addEventListener("dragover", (event) => { event.preventDefault(); zone.classList.add("dropping"); });
  zone.addEventListener("dragleave", () => zone.classList.remove("dropping"));
  zone.addEventListener("drop", (event) => {
    zone.classList.remove("dropping");
    if (!event.dataTransfer.files.length) return;
    event.preventDefault();
    took(event.dataTransfer.files);
  });
};

const showCopyButtons = (inside) => {
  for (const button of inside.querySelectorAll("button.copy")) button.hidden = false;
};

const form = document.getElementById("read");
if (form) {
  const result = document.getElementById("result");
  const fault = document.getElementById("fault");
  const box = document.getElementById("f-words");
  const file = document.getElementById("f-file");
  const welcome = [...result.childNodes];
  let busy = false;
  let again = false;
  // Where the result stands below the form, the way to it is offered.
  const upToDate = () => {
    const see = document.createElement("a");
    see.href = "#result";
    see.className = "see";
    see.textContent = form.dataset.see;
    status.replaceChildren(`${form.dataset.updated} `, see);
  };
  // One question at a time: what is typed meanwhile is asked next, so that nothing waits and nothing piles up.
  const update = async () => {
    if (busy) {
      again = true;
      return;
    }
    if (!box.value.trim() && !file.files.length) {
      fault.replaceChildren();
      result.replaceChildren(...welcome);
      status.textContent = "";
      return;
    }
    busy = true;
    const slow = setTimeout(() => { status.textContent = form.dataset.reading; }, 400);
    try {
      const answer = await fetch("/live", { method: "POST", body: new FormData(form) });
      const html = await answer.text();
      if (again) return;
      if (answer.ok && !answer.headers.has("x-fault")) {
        show(html);
        upToDate();
      } else {
        fault.innerHTML = html; // what was read before stays in sight while the fault is mended
        status.textContent = "";
      }
    } catch {
      status.textContent = form.dataset.offline;
    } finally {
      clearTimeout(slow);
      busy = false;
      if (again) {
        again = false;
        update();
      }
    }
  };
  const show = (html) => {
    fault.replaceChildren();
    const open = new Set([...result.querySelectorAll("details[open]")].map((d) => d.className));
    result.innerHTML = html;
    for (const d of result.querySelectorAll("details")) d.open = open.has(d.className);
    showCopyButtons(result);
  };
  const chosen = () => { box.value = ""; update(); };
  // What is typed counts at once; what is chosen counts when it is chosen, whichever of both events a browser sends.
  const typed = (field) => field.matches("textarea, input[type=text]");
  form.addEventListener("input", (event) => {
    if (!typed(event.target)) return;
    if (event.target === box) file.value = "";
    update();
  });
  form.addEventListener("change", (event) => {
    if (!typed(event.target) && event.target !== file) update();
  });
  file.addEventListener("change", chosen);
  takeDrops(box, (files) => { file.files = files; chosen(); });
}

const rank = document.getElementById("rank");
if (rank) {
  const table = document.getElementById("f-table");
  takeDrops(rank.querySelector(".drop"), (files) => { table.files = files; });
  rank.addEventListener("submit", () => { status.textContent = rank.dataset.reading; });
}

// A listing of the wishlist is fetched when its fold is opened.
const fill = async (fold) => {
  const later = fold.querySelector(".later[data-part]");
  if (!later || later.dataset.asked) return;
  later.dataset.asked = "yes";
  try {
    const answer = await fetch(later.dataset.part);
    if (!answer.ok) return; // the link in it still leads on
    later.innerHTML = await answer.text();
    showCopyButtons(later);
  } catch {
    delete later.dataset.asked;
  }
};
for (const fold of document.querySelectorAll("details.folded")) {
  fold.addEventListener("toggle", () => { if (fold.open) fill(fold); });
}

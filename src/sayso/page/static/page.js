"use strict";
// The result follows what is typed; a file dropped on the box is sent like one that was chosen. No data leaves 127.0.0.1.
const form = document.getElementById("read");
if (form) {
  const status = document.getElementById("status");
  const result = document.getElementById("result");
  const box = document.getElementById("f-words");
  const file = document.getElementById("f-file");
  let wait = 0;
  let running = null;
  const update = async () => {
    if (!box.value.trim() && !file.files.length) return;
    running?.abort();
    const mine = (running = new AbortController());
    try {
      const answer = await fetch("/live", { method: "POST", body: new FormData(form), signal: mine.signal });
      const html = await answer.text();
      if (mine !== running) return;
      const open = new Set([...result.querySelectorAll("details[open]")].map((d) => d.className));
      result.innerHTML = html;
      for (const d of result.querySelectorAll("details")) d.open = open.has(d.className);
      for (const button of result.querySelectorAll("button.copy")) button.hidden = false;
      status.textContent = answer.ok ? form.dataset.updated : "";
    } catch (error) {
      if (error.name !== "AbortError") status.textContent = form.dataset.offline;
    }
  };
  form.addEventListener("input", (event) => {
    if (event.target === box) file.value = "";
    clearTimeout(wait);
    wait = setTimeout(update, 40);
  });
  file.addEventListener("change", () => { box.value = ""; update(); });
  box.addEventListener("dragover", (event) => { event.preventDefault(); box.classList.add("over"); });
  box.addEventListener("dragleave", () => box.classList.remove("over"));
  box.addEventListener("drop", (event) => {
    box.classList.remove("over");
    if (!event.dataTransfer.files.length) return;
    event.preventDefault();
    file.files = event.dataTransfer.files;
    box.value = "";
    update();
  });
}

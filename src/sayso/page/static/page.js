"use strict";
// The result follows what is typed; a file dropped on the box is sent like one that was chosen. No data leaves 127.0.0.1.
const form = document.getElementById("read");
if (form) {
  const status = document.getElementById("status");
  const result = document.getElementById("result");
  const fault = document.getElementById("fault");
  const box = document.getElementById("f-words");
  const file = document.getElementById("f-file");
  const welcome = [...result.childNodes];
  let busy = false;
  let again = false;
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
      if (answer.ok) show(html);
      else fault.innerHTML = html; // what was read before stays in sight while the fault is mended
      status.textContent = answer.ok ? form.dataset.updated : "";
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
    for (const button of result.querySelectorAll("button.copy")) button.hidden = false;
  };
  form.addEventListener("input", (event) => {
    if (event.target === file) return;
    if (event.target === box) file.value = "";
    update();
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

// The typing grid: Enter and the arrows go up and down a column, as in a spreadsheet. Saving is the button's work.
"use strict";

for (const table of document.querySelectorAll("[data-grid]")) {
  table.addEventListener("keydown", (event) => {
    const step = { Enter: 1, ArrowDown: 1, ArrowUp: -1 }[event.key];
    const box = event.target.closest("input");
    if (!step || !box || event.isComposing) return;
    event.preventDefault();
    const cell = box.closest("td");
    let row = cell.parentElement;
    do {
      row = event.shiftKey && event.key === "Enter" ? row.previousElementSibling : step > 0 ? row.nextElementSibling : row.previousElementSibling;
    } while (row && !row.cells[cell.cellIndex]?.querySelector("input"));
    const next = row?.cells[cell.cellIndex].querySelector("input");
    if (next) {
      next.focus();
      next.select();
    }
  });
}

// The entries of one's own book can be touched, and reached by keys: the tabulator stops at the last one and arrows
// lead to the others. What then asks is fetched when it is first wanted: most evenings have few slips.

// ruled: book is what the lines stand in. rule(seq) rules an entry of the record through.
export function ruled(book, rule) {
  let down = null;
  let asking = null;
  const looking = () => document.body.classList.contains("looking");
  const cells = () => Array.from(book.querySelectorAll("tr:not(.void) td[data-seq]"));
  const ask = (cell) => {
    if (looking()) return;
    asking = asking || import("./ruling.mjs").then(({ Ruling }) => new Ruling(book, rule));
    asking.then((slip) => slip.ask(cell), () => { asking = null; }); // the next touch tries again
  };
  const reach = () => {
    if (!looking()) cells().forEach((c, n, all) => { c.tabIndex = n === all.length - 1 ? 0 : -1; });
  };
  book.addEventListener("click", (e) => {
    const cell = e.target.closest("td[data-seq]");
    if (cell && !e.target.closest("button") && !cell.closest("tr.void")) ask(cell);
  });
  book.addEventListener("keydown", (e) => {
    const all = cells();
    const at = all.indexOf(e.target);
    if (at < 0) return;
    const next = all[at + ({ ArrowLeft: -1, ArrowRight: 1 }[e.key] || 0)];
    if (next) next.focus();
    if (e.key !== "Enter" && e.key !== " ") return;
    e.preventDefault();
    down = e.target;
  });
  book.addEventListener("keyup", (e) => {
    if (down && down === e.target) ask(down); // when the key is let go, lest the same press also answer
    down = null;
  });
  reach();
  new MutationObserver(reach).observe(book, { childList: true, subtree: true });
}

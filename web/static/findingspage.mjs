// The findings: a signaller may answer one that is laid to his box. It is a remark in his own book, and takes nothing away.

document.addEventListener("submit", (e) => {
  const form = e.target.closest("form.pen");
  if (!form) return;
  e.preventDefault();
  const says = document.querySelector(".findings .says");
  const words = form.dataset.begins + form.querySelector("input").value.trim();
  fetch(form.action, { method: "POST", credentials: "same-origin", body: new URLSearchParams({ words }) })
    .then((r) => (r.ok ? "" : r.text()), () => "The program cannot be reached. Nothing was written.")
    .then((why) => {
      if (!why) {
        location.reload();
        return;
      }
      says.textContent = why;
      says.classList.add("on");
    });
});

// The paper strip of the bells: how loud they are at this tablet, quiet and short at night, and a trial at any time.

// turnStrip lays the strip on the page, or puts it away.
export function turnStrip(shelf, button) {
  const strip = document.querySelector(".strip.bells");
  const [loud, night, words] = ["[type=range]", "[type=checkbox]", "output"].map((s) => strip.querySelector(s));
  const show = () => { words.textContent = loud.value + " of " + loud.max; };
  const lay = (out) => {
    strip.hidden = !out;
    button.setAttribute("aria-expanded", String(out));
  };
  lay(strip.hidden);
  loud.value = shelf.bells.likes.loud;
  night.checked = shelf.bells.likes.night;
  show();
  strip.oninput = show;
  strip.onchange = () => {
    shelf.bells.like({ loud: Number(loud.value), night: night.checked });
    const first = document.querySelector("tl-bell");
    if (first) shelf.bells.try(first.dataset.circuit);
  };
  strip.onclick = (e) => {
    const pressed = e.target.closest("button");
    if (!pressed) return;
    lay(false);
    if (pressed.classList.contains("try-bells")) shelf.trial();
    else button.focus();
  };
}

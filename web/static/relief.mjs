// One signaller relieves another, or keeps the register beside him. The first half runs at the tablet of the one who
// asks, the second at that of the signaller who is asked.

import { pathOf } from "./duty.mjs";

const ASKS = 1500; // milliseconds after which he asks again, and so shows that he is still there

function post(seat, fields) {
  const asked = { method: "POST", credentials: "same-origin", headers: { Accept: "application/json" }, body: new URLSearchParams(fields) };
  return fetch(pathOf(seat.sitting, fields.do ? "relief" : "read", seat.box), asked).then((r) => r.json().then((answer) => {
    if (!r.ok) throw new Error(answer.words);
    return answer.state;
  }));
}

// reliever asks for the box that a tablet looks in at.
export function reliever(shelf, button) {
  const card = document.querySelector(".take-over");
  if (button.classList.contains("wants-box")) button.setAttribute("aria-expanded", String(!(card.hidden = !card.hidden)));
  shelf.relief = shelf.relief || new Reliever(shelf, card);
  if (button.value) shelf.relief.press(button);
}

// Reliever asks for a box on its own page. With "sign", the second press, he signs on; the same press unlocks the bells.
class Reliever {
  constructor(shelf, card) {
    this.shelf = shelf;
    this.card = card;
    this.says = card.querySelector(".tells");
    this.state = "";
  }

  press(button) {
    if (button.value === "sign") this.sign();
    else if (!this.asking) this.ask(button.value);
  }

  fields(what) {
    const who = this.card.querySelector("input").value.trim();
    return who ? { do: what, who } : { do: what };
  }

  ask(what) {
    const again = () => post(this.shelf.seat, this.fields(what)).then((state) => this.stands(what, state), (why) => this.ends(why.message));
    this.asking = setInterval(again, ASKS);
    again();
  }

  stands(what, state) {
    this.look();
    if (state === this.state) return;
    this.state = state;
    this.card.classList.toggle("may", state === "may");
    if (state === "waits") this.says.textContent = "The signaller has been asked. Read meanwhile how things stand.";
    else if (what === "keep") location.assign(pathOf(this.shelf.seat.sitting, "book", this.shelf.seat.box));
    else {
      this.says.textContent = "He gives you the box as soon as you sign.";
      this.card.querySelector(".sign").hidden = false;
      for (const b of Array.from(this.card.querySelectorAll(".asks"))) b.hidden = true;
    }
  }

  // look writes anew how things stand: the line does not wait.
  look() {
    fetch(location.href, { credentials: "same-origin" }).then((r) => r.text()).then((text) => {
      const fresh = new DOMParser().parseFromString(text, "text/html").querySelector(".standing");
      const shown = this.card.querySelector(".standing");
      if (fresh && shown.innerHTML !== fresh.innerHTML) shown.innerHTML = fresh.innerHTML;
    }).catch(() => {}); // the next look may succeed
  }

  ends(words) {
    clearInterval(this.asking);
    this.asking = null;
    this.says.textContent = words;
  }

  sign() {
    clearInterval(this.asking);
    const shelf = this.shelf;
    shelf.bells.unlock();
    post(shelf.seat, this.fields("sign")).then(() => {
      shelf.wire.leave();
      return import("./duty.mjs").then(({ enter }) => enter(shelf.seat.sitting, shelf.seat.box, shelf.bells));
    }).catch((why) => this.ends(why.message));
  }
}

// asked shows a signaller who asks for his box, with the two answers.
export function asked(shelf, strip, asks) {
  strip.hidden = !asks.as;
  if (!asks.as) return;
  const who = asks.who || "Somebody";
  const wants = asks.as === "work" ? " asks to relieve you." : " asks to keep the register beside you.";
  strip.firstElementChild.textContent = asks.allowed ? "Tell " + (asks.who || "your relief") + " how things stand. You are signed off when he signs." : who + wants;
  shelf.plate(strip.firstElementChild.textContent);
  for (const b of Array.from(strip.querySelectorAll("button"))) {
    b.hidden = !!asks.allowed;
    b.onclick = () => post(shelf.seat, { do: b.value }).catch((why) => { strip.firstElementChild.textContent = why.message; });
  }
  if (asks.allowed && asks.as === "book") strip.hidden = true;
}

// told puts before a signaller what the owner tells him, one thing at a time, until he has read it.
export function told(shelf, strip, all) {
  shelf.told = all.length;
  strip.hidden = !all.length;
  if (!all.length) return;
  shelf.plate("A word from the owner");
  strip.firstElementChild.textContent = all[0];
  strip.querySelector("button").onclick = () => post(shelf.seat, {}).catch((why) => { strip.firstElementChild.textContent = why.message; });
}

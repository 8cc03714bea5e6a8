// Taking duty at a box. The ticket is a cookie that only the program itself reads, so a page opened again has its seat.

export function pathOf(sitting, what, box) {
  return "/s/" + encodeURIComponent(sitting) + "/" + what + "/" + encodeURIComponent(box);
}

// takeDuty asks for a box. It fails with words for the signaller; where the box is locked it leads to the door of it.
export function takeDuty(sitting, box, key) {
  const asked = { method: "POST", credentials: "same-origin", headers: { Accept: "application/json" } };
  if (key) asked.body = new URLSearchParams({ key });
  return fetch(pathOf(sitting, "duty", box), asked).then((r) => r.json().then((answer) => {
    if (answer.why === "key") {
      location.assign(pathOf(sitting, "key", box));
      return new Promise(() => {}); // this page is left
    }
    if (!r.ok) throw new Error(answer.words || "That box could not be taken.");
  }));
}

// enter lays the page of a box over the one that is shown and tries its bells. The page is not opened by its address,
// for a new page would be silent until the next press.
export function enter(sitting, box, bells) {
  const address = pathOf(sitting, "box", box) + (window.parent === window ? "" : location.search);
  return fetch(address, { credentials: "same-origin" }).then((r) => r.text()).then((text) => {
    const page = new DOMParser().parseFromString(text, "text/html");
    window.taillampShelf = true; // the module must not start a second one by itself
    document.title = page.title;
    document.body = document.adoptNode(page.body);
    history.pushState(null, "", address);
    addEventListener("popstate", () => location.reload());
    return import("./shelf.mjs");
  }).then(({ Shelf }) => {
    window.taillampShelf = new Shelf(bells);
    return window.taillampShelf.trial();
  });
}

// takeHere is for a box page that was opened by its address and has nobody.
export function takeHere(shelf, box) {
  takeDuty(shelf.seat.sitting, box).then(() => {
    shelf.wire.leave();
    return enter(shelf.seat.sitting, box, shelf.bells);
  }).catch((why) => {
    const strip = document.querySelector(".strip.looking");
    if (strip) strip.textContent = why.message;
  });
}

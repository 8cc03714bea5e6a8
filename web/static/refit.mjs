// The shelf of a box set up anew where a neighbour was switched in or out: the page, asked for again, knows how.

export function refit(shelf, v) {
  const $ = (selector) => document.querySelector(selector);
  return fetch(location.href).then((r) => r.text()).then((text) => {
    const page = new DOMParser().parseFromString(text, "text/html");
    for (const part of [".tabs", ".shelf", ".frame"]) if ($(part)) $(part).replaceWith(document.adoptNode(page.querySelector(part)));
    shelf.page = JSON.parse(page.querySelector("#present").textContent);
    const telephone = page.querySelector(".telephone");
    if (telephone && $(".telephone")) $(".telephone").replaceWith(document.adoptNode(telephone));
    if (shelf.telephone) shelf.telephone.then((t) => t.show(t.phones));
    shelf.bells.use(shelf.page.sounds);
    shelf.readings.page(shelf.page);
    shelf.refitting = null;
    shelf.absent();
    shelf.view(shelf.page.view || v);
    if (shelf.page.working && !v.ears && shelf.bells.awake()) shelf.trial();
  });
}

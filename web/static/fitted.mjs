// What a signaller is told of the real instruments of his box: only what he must know, until he puts it away.

const away = new Set(); // what has been put away

const sentence = (i) => {
  if (!i.on) return i.name + " is off the wire" + (i.says ? "; " + i.says : ": its bells ring at this tablet") + ".";
  return i.says ? i.name + ": " + i.says + "." : "";
};

// tellFitted writes it into its strip.
export function tellFitted(strip, fitted) {
  const due = fitted.filter((i) => sentence(i) && !away.has(i.name + i.at));
  strip.hidden = due.length === 0;
  strip.textContent = "On the layout: " + due.map(sentence).join(" ") + " ";
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Put away";
  button.addEventListener("click", () => {
    for (const i of due) away.add(i.name + i.at);
    strip.hidden = true;
  });
  strip.append(button);
}

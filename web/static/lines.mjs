// Lines of a train register as table rows; the same form as the row of the page's templates.

export const COLUMNS = [
  ["offered_from_rear", "Offered"], ["accepted", "Accepted"], ["entering_section_received", "Entering rec'd"],
  ["arrived", "Arrived"], ["passed", "Passed"], ["departed", "Departed"], ["out_of_section_sent", "Out sent"],
  ["offered_ahead", "Off'd ahead"], ["accepted_ahead", "Acc. ahead"], ["entering_section_sent", "Entering sent"],
  ["out_of_section_received", "Out rec'd"],
];
const EDGES = new Set(["arrived", "out_of_section_sent", "offered_ahead"]);

// nameOf says what train a line is: its class, its code and, if it was named, its number.
export function nameOf(line) {
  const parts = [];
  if (line.class) parts.push(line.class);
  if (line.code) parts.push(line.code);
  if (line.train) parts.push("no. " + line.train);
  return parts.join(" ");
}

// acrossOf is a line that goes across the page, in words.
export function acrossOf(line) {
  const time = (name) => (line.cells.find((c) => c.column === name) || {}).time;
  const parts = [];
  if (time("given")) parts.push(time("given"));
  const words = (line.remarks || []).join("; ");
  if (line.kind === "signal") {
    parts.push(words + " (" + line.code + ") " + (line.sent ? "sent to " : "received from ") + line.other + (line.concerns ? ", " + line.concerns : "") + ".");
    if (time("acknowledged")) parts.push("Acknowledged " + time("acknowledged") + ".");
  } else parts.push(words + ".");
  return parts.join(" ");
}

// times writes the cells of a line as a signaller does: the hour once, and again when it changes.
export function times(line) {
  const out = {};
  let hour = "";
  for (const [name] of COLUMNS) {
    const cell = line.cells.find((c) => c.column === name);
    if (!cell) continue;
    const h = cell.time.split(".")[0];
    out[name] = h === hour ? { hour: "", minute: cell.short } : { hour: h + ".", minute: cell.time.slice(h.length + 1) };
    out[name].time = cell.time;
    out[name].late = cell.late;
    out[name].seq = cell.seq;
    hour = h;
  }
  return out;
}

// writeRow makes the row of a line; of null an empty ruled one.
export function writeRow(line) {
  const row = document.createElement("tr");
  if (!line) row.className = "blank";
  if (line) row.dataset.id = String(line.id);
  if (line && line.kind !== "train") {
    row.className = (line.urgent ? "urgent" : "") + (line.void ? " void" : "");
    const td = cell("td", acrossOf(line));
    if (line.cells[0]) Object.assign(td.dataset, { seq: line.cells[0].seq, time: line.cells[0].time });
    td.className = "across";
    td.colSpan = 12;
    row.appendChild(td);
    return row;
  }
  const open = line && line.open ? line.open : [];
  if (line) row.className = (open.length ? "open" : "") + (line.void ? " void" : "");
  const head = document.createElement("th");
  head.scope = "row";
  if (line) {
    const page = document.createElement("span");
    page.className = "page-of";
    page.textContent = line.page;
    head.appendChild(page);
    head.appendChild(document.createTextNode(" " + nameOf(line)));
  }
  row.appendChild(head);
  const written = line ? times(line) : {};
  for (const [name, label] of COLUMNS) row.appendChild(timeCell(line, name, label, written[name], open.indexOf(name) >= 0));
  return row;
}

function timeCell(line, name, label, time, open) {
  const td = document.createElement("td");
  td.dataset.column = name;
  td.dataset.label = label;
  if (EDGES.has(name)) td.className = "edge";
  if (time) Object.assign(td.dataset, { seq: time.seq, time: time.time });
  for (const s of (line && line.struck) || []) {
    if (s.column !== name) continue;
    td.appendChild(cell("s", s.short));
    td.appendChild(document.createTextNode(" "));
  }
  if (time && time.hour) td.appendChild(cell("small", time.hour));
  if (time) td.appendChild(document.createTextNode(time.minute));
  if (time && time.late) td.appendChild(cell("i", "")).className = "late";
  if (open) {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.book = name;
    button.setAttribute("aria-label", "Book " + label + " now");
    td.appendChild(button);
  }
  return td;
}

function cell(name, text) {
  const c = document.createElement(name);
  c.textContent = text;
  return c;
}

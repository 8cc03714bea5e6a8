// What the apparatus did between two views of the record. It is heard at home, far softer than any bell.

// changesOf gives { noises, sixes }: the names of the noises, and the circuits on which six beats came from the far end.
export function changesOf(before, now) {
  const noises = new Set();
  const sixes = [];
  for (const i of now.shelf) {
    const was = before.shelf.find((o) => o.circuit === i.circuit);
    if (!was) continue;
    if (i.danger && !was.danger && rungThere(i)) sixes.push(i.circuit);
    for (const line of i.lines || []) {
      const old = (was.lines || []).find((l) => l.section === line.section);
      const noise = old && noiseOf(old, line);
      if (noise) noises.add(noise);
    }
  }
  return { noises, sixes };
}

function noiseOf(old, line) {
  const [was, is] = [old.token || old, line.token || line];
  if (is.here < was.here) return "drawn";
  if (is.here > was.here) return "restored";
  return is.shows === was.shows ? "" : "click";
}

// rungThere tells whether the last six of a circuit came from the far end.
function rungThere(i) {
  if (!i.heard || i.heard.beats !== "6") return false;
  return !i.sent || Date.parse(i.sent.first) < Date.parse(i.heard.first);
}

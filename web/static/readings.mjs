// What a bell said, in words: the code as read, in doubt if the hand left doubt, and what it means in the circuit's code
// book if the box's settings allow.

// nameOf is a neighbour's name; where a line has bells of its own, with the line.
export const nameOf = (i) => (i.method === "absolute" || !i.lines || !i.lines.length ? i.name : i.name + ", " + i.lines[0].line);

export class Readings {
  constructor(page) {
    this.signals = {}; // by circuit and first beat: what a code was taken for
    this.told = {}; // first beat of the last code spoken, by circuit
    this.page(page);
    this.settings(page.settings || {});
  }

  page(page) {
    this.box = page.box;
    this.books = page.books;
    this.bookOf = page.bookOf;
  }

  settings(s) {
    const meanings = s.Meanings === undefined ? s.meanings : s.Meanings;
    if (meanings !== undefined) this.meanings = meanings;
  }

  signal(s) {
    this.signals[s.circuit + " " + s.by] = s;
  }

  // of reads one instrument. wordsAt writes a moment of the sitting's clock as the district's time.
  of(i, wordsAt) {
    const out = { heard: "", meaning: "", sent: "", beats: "", fresh: false };
    if (i.sent) out.sent = "rang " + codeOf(i.sent) + " at " + wordsAt(Date.parse(i.sent.first));
    if (!i.heard) {
      this.told[i.circuit] = "";
      return out;
    }
    out.beats = codeOf(i.heard);
    out.heard = "heard " + out.beats + " at " + wordsAt(Date.parse(i.heard.first));
    if (this.meanings !== false) out.meaning = this.means(i);
    out.fresh = this.told[i.circuit] !== i.heard.first && this.told[i.circuit] !== undefined;
    this.told[i.circuit] = i.heard.first;
    return out;
  }

  means(i) {
    const codes = this.books[this.bookOf[i.circuit]] || {};
    const s = this.signals[i.circuit + " " + i.to];
    const known = s && s.first === i.heard.first ? s : null;
    if (known && known.sense === "void") return "means nothing here";
    if (known && known.sense === "wrong") return "not what you rang";
    const key = (known && known.key) || (i.heard.keys || [])[0];
    const code = codes[key];
    if (!code) return i.heard.keys && i.heard.keys.length ? "" : "not in the book";
    if (known && known.sense === "answer") return "repeats your " + codeOf(i.heard);
    return code.train ? "is line clear for " + code.means.split(";")[0] + "?" : code.means;
  }
}

// codeOf writes a code, both readings of a doubtful one.
export function codeOf(heard) {
  return heard.beats + (heard.or && heard.or.length ? " or " + heard.or : "");
}

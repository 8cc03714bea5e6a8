// When a code comes round again: the algorithm SM-2, P. A. Wozniak, "Optimization of learning" (1990), from memory. A
// card is { ease, run, days, due }: how easily it is kept, how often in a row it was known, the days to its next turn,
// and the day of that.

export const NEW = { ease: 2.5, run: 0, days: 0, due: 0 };
const LEAST = 1.3; // ease
export const KNOWN = 4; // a quality below this has the card asked again in the same turn

// after is the card after an answer of quality 0 to 5, given on a day.
export function after(card, quality, day) {
  const miss = 5 - quality;
  const ease = Math.max(LEAST, card.ease + 0.1 - miss * (0.08 + miss * 0.02));
  if (quality < 3) return { ease: card.ease, run: 0, days: 1, due: day + 1 };
  const days = card.run === 0 ? 1 : card.run === 1 ? 6 : Math.round(card.days * ease);
  return { ease, run: card.run + 1, days, due: day + days };
}

// turn picks the cards for one turn: those that are due, the longest overdue first, then a few new ones in the book's
// order.
export function turn(keys, cards, day, most, fresh) {
  const due = keys.filter((k) => cards[k] && cards[k].due <= day).sort((a, b) => cards[a].due - cards[b].due);
  const unknown = keys.filter((k) => !cards[k]).slice(0, fresh);
  return due.concat(unknown).slice(0, most);
}

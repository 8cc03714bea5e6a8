package web

import (
	"net/http"
	"strings"

	"taillamp/block"
)

// codesPage is the printed card of bell codes that hangs in a box.
type codesPage struct {
	Title, Name, Sitting string
	Box                  block.BoxID
	Cards                []codeCard
}

// codeCard is one book of codes and the neighbours with whom it is used.
type codeCard struct {
	Book, With string // With is empty where one book serves all neighbours
	Tables     []codeTable
}

// codeTable is one half of a card: the trains or the other signals.
type codeTable struct {
	Title string
	Lines []codeLine
}

// codeLine is one code, written out.
type codeLine struct {
	Beats, Class, Means, Sent string
	Attention, Urgent         bool
}

// codes shows the card of a box.
func (s *server) codes(w http.ResponseWriter, r *http.Request) {
	box := boxOf(r)
	s.draw(w, "codes.html", codesPage{Title: s.title, Name: namesOf(s.live.Rules())[box], Sitting: s.live.Name(), Box: box,
		Cards: cardsOf(s.live.Rules(), box)})
}

// cardsOf are the books of a box's bells, in the order of the line; bells that share a book share a card.
func cardsOf(r *block.Rules, box block.BoxID) []codeCard {
	names := shortNames(namesOf(r))
	var books []*block.CodeBook
	with := make(map[*block.CodeBook][]string)
	for _, c := range r.Circuits() {
		other := c.Boxes[0]
		switch box {
		case c.Boxes[0]:
			other = c.Boxes[1]
		case c.Boxes[1]:
		default:
			continue
		}
		if with[c.Book] == nil {
			books = append(books, c.Book)
		}
		if name := names[other]; !strings.Contains(strings.Join(with[c.Book], "\n")+"\n", name+"\n") {
			with[c.Book] = append(with[c.Book], name)
		}
	}
	var cards []codeCard
	for _, b := range books {
		card := codeCard{Book: b.Title, Tables: tablesOf(b)}
		if len(books) > 1 {
			card.With = strings.Join(with[b], ", ")
		}
		cards = append(cards, card)
	}
	return cards
}

// tablesOf sets out a book, in its own order.
func tablesOf(b *block.CodeBook) []codeTable {
	trains, others := codeTable{Title: "Is line clear for …?"}, codeTable{Title: "Other signals"}
	for _, c := range b.Codes {
		line := codeLine{Beats: c.Beats.String(), Class: c.Class, Means: c.Means, Sent: sentWords(c.Bearing), Attention: c.Attention,
			Urgent: c.Key == "obstruction-danger"}
		if answer, ok := b.Key(block.CodeKey(c.Answer)); ok {
			line.Means += "; answered by " + answer.Beats.String()
		}
		if c.Conditions != "" {
			line.Means += "; " + c.Conditions
		}
		if c.Train {
			trains.Lines = append(trains.Lines, line)
		} else {
			others.Lines = append(others.Lines, line)
		}
	}
	return []codeTable{trains, others}
}

// sentWords says to which side of the line a code may be sent.
func sentWords(b block.Bearing) string {
	switch b {
	case block.ToAdvance:
		return "ahead"
	case block.ToRear:
		return "back"
	}
	return "either way"
}

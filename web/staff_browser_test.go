package web_test

import (
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// A single line worked by staff and ticket on two shelves: the card says where the staff is and offers what a hand can do;
// the ticket box opens by the staff alone and holds it; a ticket goes with the first train and the staff with the second,
// and what was done stands in the book (other-methods reference, 3.3 and ST-ex1).
func TestStaffAndTicketOnTheShelf(t *testing.T) {
	e := open(t, "tiny", func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, "mph = 60\n", "mph = 60\nmethod = \"staffTicketBlock\"\nlines = [{ name = \"Single\", way = \"both\", staff = \"UL\" }]\n", 1)
		h.Trains, h.Times = "", ""
		h.Layout = strings.Replace(strings.Replace(h.Layout, "trains = \"trains.csv\"\n", "", 1), "times  = \"timetable.csv\"\n", "", 1)
	})
	b := browser(t)
	osT := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	osT.takeDuty("OS")
	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	ul.takeDuty("UL")
	says := func(p *tab, words string) {
		t.Helper()
		p.until(`document.querySelector("tl-token .whereabouts").innerText.includes(` + quote(words) + `)`)
	}
	act := func(p *tab, where string) { p.press(`tl-token button[data-where="` + where + `"]`) }
	says(ul, "The staff is here.")
	says(osT, "The staff is at Ullathwick or on its way from there.")
	require.Equal(t, []string{"given"}, eval[[]string](osT, `[...document.querySelectorAll("tl-token button[data-where]")].filter((b) => !b.hidden).map((b) => b.dataset.where)`))
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		ul.shoot(folder, "staff")
	}
	accepts := func(from, to *tab, code string) {
		t.Helper()
		from.ring(to, "UL-OS", "1")
		to.ring(from, "UL-OS", "1")
		from.ring(to, "UL-OS", code)
		to.ring(from, "UL-OS", code)
	}
	accepts(ul, osT, "3-1")
	act(ul, "shown")
	act(ul, "unlocked")
	says(ul, "the ticket box open")
	act(ul, "handed")
	ul.until(`document.body.innerText.includes("lock the ticket box first")`)
	act(ul, "issued")
	says(ul, "Ticket 1 is out.")
	act(ul, "unlocked")
	ul.until(`!document.querySelector("tl-token").hasAttribute("open")`)
	if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
		ul.shoot(folder, "ticket")
	}
	ul.ring(osT, "UL-OS", "2")
	osT.ring(ul, "UL-OS", "2")
	act(osT, "spent")
	says(osT, "from there.")
	osT.until(`!document.querySelector("tl-token .whereabouts").innerText.includes("Ticket")`)
	osT.ring(ul, "UL-OS", "1")
	ul.ring(osT, "UL-OS", "1")
	osT.ring(ul, "UL-OS", "2-1")
	ul.ring(osT, "UL-OS", "2-1")
	accepts(ul, osT, "4")
	act(ul, "handed")
	says(ul, "The train has the staff.")
	ul.ring(osT, "UL-OS", "2")
	osT.ring(ul, "UL-OS", "2")
	act(osT, "given")
	says(osT, "The staff is here.")
	osT.ring(ul, "UL-OS", "1")
	ul.ring(osT, "UL-OS", "1")
	osT.ring(ul, "UL-OS", "2-1")
	ul.ring(osT, "UL-OS", "2-1")
	ul.open(e.at + "/s/demo/book/UL")
	book := eval[string](ul, `document.querySelector("main").innerText`)
	for _, words := range []string{"staff shown", "ticket 1", "staff"} {
		require.Contains(t, book, words)
	}
	ul.open(e.at + "/s/demo/findings")
	require.NotContains(t, eval[string](ul, `document.querySelector("main").innerText`), "ST-")
}

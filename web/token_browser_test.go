package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

const (
	branch = "OS-TO"               // the bells of the branch
	single = "OS-TO Branch Single" // its line
)

// holding rings a code and keeps the last beat down until lift is called.
func (p *tab) holding(circuit, code string, beat time.Duration) (lift func()) {
	p.t.Helper()
	beats, err := block.ParseBeats(code)
	require.NoError(p.t, err)
	last := &beats[len(beats)-1]
	*last-- // the last beat is held
	next := time.Now()
	if len(beats) > 1 || *last > 0 {
		short := beats
		if *last == 0 {
			short = beats[:len(beats)-1]
		}
		p.hand(circuit, short.String(), beat)
		next = time.Now().Add(beat * 5 / 2)
		if *last > 0 {
			next = time.Now().Add(beat)
		}
	}
	pause(time.Until(next))
	p.touchAt(stampOf(next), finger{p.middle(bell(circuit)), 8})
	return func() { p.touch() }
}

// token is a part of the token instrument's page.
func token(part string) string { return `tl-token[data-section="` + single + `"] ` + part }

func (p *tab) says(part, words string) {
	p.t.Helper()
	p.until(`document.querySelector('` + token(part) + `').textContent === ` + quote(words))
}

// B16: a token is worked with the neighbour, as other-methods.md 2.4 has it: the last beat of the acceptance is held and
// gives the release, one token is drawn and shown in whose hands it is, and it is put back before 2-1.
func TestTokenIsWorked(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	os := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	to := tablet(t, b, "Tolverbeck", e.at, 1024, 768)
	os.takeDuty("OS")
	to.takeDuty("TO")
	os.says(".says-1", "TOKEN IN")
	os.press(token(`[data-where="drawn"]`))
	os.until(`document.querySelector('tl-bell[data-circuit="` + branch + `"] .says').textContent === "The instrument is locked: the other end gives no release."`)

	os.ring(to, branch, "1")
	to.ring(os, branch, "1")
	os.ring(to, branch, "1-3")
	lift := to.holding(branch, "1-3", 220*time.Millisecond)
	os.until(`document.querySelector('` + token(".release") + `').classList.contains("on")`)
	os.says(".release", "Tolverbeck releases: draw")
	os.press(token(`[data-where="drawn"]`))
	os.says(".says-1", "TRAIN GOING")
	os.says(".whereabouts", "The token is in your hand.")
	to.says(".says-1", "TRAIN COMING")
	lift()
	require.True(t, eval[bool](to, `document.querySelector('`+token(`[data-where="drawn"]`)+`').hidden`), "no second token")

	os.press(token(`[data-where="handed"]`))
	os.says(".whereabouts", "The train has the token.")
	os.ring(to, branch, "2")
	to.ring(os, branch, "2")
	to.press(token(`[data-where="given"]`))
	to.says(".whereabouts", "The token is in your hand.")
	to.press(token(`[data-where="restored"]`))
	to.says(".whereabouts", "4 tokens here")
	to.seeTailLamp(single)
	to.ring(os, branch, "1")
	os.ring(to, branch, "1")
	to.ring(os, branch, "2-1")
	os.ring(to, branch, "2-1")
	os.says(".says-1", "TOKEN IN")
	to.says(".says-1", "TOKEN IN")
	os.says(".whereabouts", "2 tokens here")
	require.Empty(t, irregular(t, e))
	require.NotEmpty(t, os.booked()["token_out"])
	require.NotEmpty(t, to.booked()["token_in"])
}

// B16: from the window of a token box a train is seen come as at any other: its tail lamp says that it is here.
func TestBranchTrainIsSeenFromTheWindow(t *testing.T) {
	e := open(t, "lathermoor", nil)
	os, err := e.live.TakeDuty(t.Context(), "OS", "")
	require.NoError(t, err)
	to, err := e.live.TakeDuty(t.Context(), "TO", "")
	require.NoError(t, err)
	p := tablet(t, browser(t), "a reader", e.at+"/s/demo/box/TO", 1024, 768)
	p.until("taillampShelf.shown")
	for _, x := range []struct {
		seat  sitting.Seat
		where block.Place
	}{{os, block.Leaves}, {to, block.Heads}} {
		_, err := e.live.Act(t.Context(), x.seat, 0, block.Event{Do: block.Train, Section: "OS-TO Branch Single", Where: x.where, Train: "5"})
		require.NoError(t, err)
	}
	p.until(`document.querySelector("tl-lamp small").textContent === "no. 5 is here: hold"`)
}

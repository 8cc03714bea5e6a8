package web_test

import (
	"context"
	"encoding/xml"
	"errors"
	"io"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/sim"
	"taillamp/web"
	"taillamp/web/sitting"
)

// lateDay is an evening of the demo worked to its end, in which freight 17 took twenty minutes too long and nobody has yet
// closed the book. It is read as a sitting still going on.
func lateDay(t *testing.T) evening {
	t.Helper()
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	const run = "17,2,QU,Up Main,,17.42,,,357,360,"
	require.Contains(t, h.Times, run)
	h.Times = strings.Replace(h.Times, run, "17,2,QU,Up Main,,17.42,,,357,1560,", 1)
	h.Began = time.Date(1961, 10, 17, 15, 30, 0, 0, time.UTC)
	h.Zone = "UTC"
	rules, err := h.Rules()
	require.NoError(t, err)
	kept := sitting.NewMemory()
	record, err := kept.Begin(t.Context(), "late", h)
	require.NoError(t, err)
	for e, err := range sim.Day(rules, sim.Options{Seed: 1, Begins: h.Began}) {
		require.NoError(t, err)
		require.NoError(t, record.Append(t.Context(), e))
	}
	require.NoError(t, record.Close())
	host := sitting.NewHost(kept, sitting.NewRealClock(), "taillamp test")
	live, err := host.Resume(t.Context(), "late")
	require.NoError(t, err)
	server := httptest.NewServer(web.New(web.Config{Live: live}))
	t.Cleanup(server.Close)
	t.Cleanup(func() { _ = host.Close(context.WithoutCancel(t.Context())) })
	return evening{live, onShed(t, server.URL)}
}

// F1, F3, E10: the graph of a sitting still going on is a picture that any reader of XML takes, and the page tells the
// longest chain in at most five sentences.
func TestGraphPage(t *testing.T) {
	e := lateDay(t)
	b := besides(t)
	p := tablet(t, b, "a reader", e.at+"/s/late/graph", 1024, 768)
	chain := eval[string](p, `document.querySelector(".chain").textContent.trim()`)
	require.True(t, strings.HasPrefix(chain, "Train 17 took 20 minutes longer than booked to Quarnaby Sidings"), chain)
	require.LessOrEqual(t, strings.Count(chain, ". ")+1, 5, chain)
	require.Equal(t, "3", eval[string](p, `document.querySelector("tbody td:nth-child(2)").textContent`), "trains that it cost time")

	picture := fetch(t, e, "/s/late/graph.svg")
	in := xml.NewDecoder(strings.NewReader(picture))
	for {
		_, err := in.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
	}

	// Keys and buttons make it larger and smaller; the whole evening fits; what is moved away from keeps its names.
	wide := func() float64 {
		return eval[float64](p, `document.querySelector(".drawing svg:not(.names)").getBoundingClientRect().width`)
	}
	before := wide()
	key := func(k string) {
		eval[bool](p, `document.dispatchEvent(new KeyboardEvent("keydown", { key: "`+k+`", cancelable: true })) || true`)
	}
	key("+")
	require.InDelta(t, before*1.25, wide(), 2)
	p.press(`[data-zoom="larger"]`)
	require.InDelta(t, before*1.5625, wide(), 2)
	eval[bool](p, `(document.querySelector(".drawing").scrollLeft = 400) > 0`)
	p.until(`!document.querySelector(".names").classList.contains("away")`)
	require.Contains(t, eval[string](p, `document.querySelector(".names").textContent`), "Quarnaby Sidings")
	key("0")
	require.InDelta(t, eval[float64](p, `document.querySelector(".drawing").clientWidth`), wide(), 2)
	p.until(`document.querySelector(".names").classList.contains("away")`)

	// A phone shows it at its own size, and nothing of the page is wider than the phone.
	phone := tablet(t, b, "a phone", e.at+"/s/late/graph", 390, 844)
	require.LessOrEqual(t, eval[float64](phone, `document.documentElement.scrollWidth`), 390.0)
	require.Greater(t, eval[float64](phone, `document.querySelector(".drawing").scrollWidth`), 1000.0)
}

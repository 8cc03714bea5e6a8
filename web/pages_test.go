package web

import (
	"compress/gzip"
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/sounds"
	"taillamp/web/sitting"
)

// served is a sitting of a district that comes with the program, and its server.
func served(t *testing.T, layout string) *server {
	t.Helper()
	h, err := block.EmbeddedHeader(layout)
	require.NoError(t, err)
	host := sitting.NewHost(sitting.NewMemory(), sitting.NewRealClock(), "taillamp test")
	live, err := host.Open(t.Context(), "demo", h)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, live.Close(context.WithoutCancel(t.Context()))) })
	return &server{common: &common{}, live: live, voices: voicesOf(live.Rules())}
}

// The demo's line, as the drawing in layouts/lathermoor/layout.toml has it: five boxes along the main line, the branch
// leaving at the third.
func TestLineOfTheDemo(t *testing.T) {
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	type place struct {
		box         block.BoxID
		column, row int
		rails       string
	}
	var got []place
	for _, s := range lineOf(r) {
		got = append(got, place{s.Box, s.Column, s.Row, s.Rails})
	}
	require.Equal(t, []place{
		{"SK", 1, 2, "begins"}, {"UL", 2, 2, ""}, {"OS", 3, 2, ""}, {"MI", 4, 1, "single first"}, {"TO", 5, 1, "single ends"},
		{"QU", 4, 2, ""}, {"HX", 5, 2, "ends"},
	}, got)
}

// Times are written as a signaller does (absolute-block reference, 6.1): the hour once, and again when it changes.
func TestHourIsWrittenOnce(t *testing.T) {
	row := rowOf(register.Line{Kind: register.TrainRow, Cells: []register.Written{
		{Column: "offered_from_rear", Time: "15.58½", Short: "58½"}, {Column: "accepted", Time: "15.59", Short: "59"},
		{Column: "entering_section_received", Time: "16.02", Short: "2"}, {Column: "passed", Time: "16.06½", Short: "6½"},
	}})
	var got []string
	for _, c := range row.Cells[:5] {
		got = append(got, c.Hour+c.Minute)
	}
	require.Equal(t, []string{"15.58½", "59", "16.02", "", "6½"}, got)
}

func TestShortNamesAreNotShared(t *testing.T) {
	short := shortNames(map[block.BoxID]string{"SE": "Skelderby East", "SW": "Skelderby West", "OS": "Ossenwaite Junction"})
	require.Equal(t, map[block.BoxID]string{"SE": "Skelderby East", "SW": "Skelderby West", "OS": "Ossenwaite"}, short)
}

func TestLettersOfTheBellsDiffer(t *testing.T) {
	taken := map[string]bool{}
	require.Equal(t, "q", letterOf("Quarnaby Sidings", taken))
	require.Equal(t, "u", letterOf("Quarnaby, Up Goods Loop", taken))
	require.Equal(t, "l", letterOf("Ullathwick", taken))
}

// B7: on every shelf of the demo as it opens, any two bells differ by body and by a minor third or more.
func TestBellsOfAShelfAreToldApart(t *testing.T) {
	s := served(t, "lathermoor")
	_, state := s.live.Snapshot()
	pairs := 0
	for _, b := range s.live.Rules().Layout().Boxes {
		shelf := s.live.Rules().View(state, b.ID).Shelf
		for i := range shelf {
			for j := range i {
				x, ok := sounds.FindVoice(s.voices[hearing{b.ID, shelf[i].Circuit}])
				require.True(t, ok)
				y, ok := sounds.FindVoice(s.voices[hearing{b.ID, shelf[j].Circuit}])
				require.True(t, ok)
				require.True(t, sounds.Distinct(x, y), "%s hears %s and %s alike: %s, %s", b.ID, shelf[i].To, shelf[j].To, x.Name, y.Name)
				pairs++
			}
		}
	}
	require.Positive(t, pairs)
}

// A tablet that has a file is told so and is not sent it again.
func TestFilesAreNotSentTwice(t *testing.T) {
	s := served(t, "tiny")
	ask := httptest.NewRequest(http.MethodGet, "/static/shelf.mjs", nil)
	first := httptest.NewRecorder()
	s.static(first, ask)
	require.Equal(t, http.StatusOK, first.Code)
	require.Equal(t, "text/javascript; charset=utf-8", first.Header().Get("Content-Type"))
	ask.Header.Set("If-None-Match", first.Header().Get("ETag"))
	again := httptest.NewRecorder()
	s.static(again, ask)
	require.Equal(t, http.StatusNotModified, again.Code)
	require.NotContains(t, first.Header(), "Content-Encoding")

	packed := httptest.NewRecorder()
	ask.Header.Set("Accept-Encoding", "gzip")
	s.static(packed, ask)
	require.Equal(t, http.StatusOK, packed.Code, "compressed it is another representation, under a tag of its own")
	require.Equal(t, "gzip", packed.Header().Get("Content-Encoding"))
	z, err := gzip.NewReader(packed.Body)
	require.NoError(t, err)
	unpacked, err := io.ReadAll(z)
	require.NoError(t, err)
	require.Equal(t, first.Body.Bytes(), unpacked)
	ask.Header.Set("If-None-Match", packed.Header().Get("ETag"))
	kept := httptest.NewRecorder()
	s.static(kept, ask)
	require.Equal(t, http.StatusNotModified, kept.Code)

	missing := httptest.NewRecorder()
	s.static(missing, httptest.NewRequest(http.MethodGet, "/static/../pages.go", nil))
	require.Equal(t, http.StatusNotFound, missing.Code)
}

// A sound is served under the hash of its content, to be kept for a year; under another hash there is nothing.
func TestSoundsAreNamedByTheirContent(t *testing.T) {
	s := served(t, "tiny")
	r, ok := s.bells.sound("clack")
	require.True(t, ok)
	ask := func(path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		s.sound(w, httptest.NewRequest(http.MethodGet, path, nil))
		return w
	}
	got := ask(r.address)
	require.Equal(t, http.StatusOK, got.Code)
	require.Equal(t, "audio/wav", got.Header().Get("Content-Type"))
	require.Contains(t, got.Header().Get("Cache-Control"), "max-age=31536000")
	require.Equal(t, r.wav, got.Body.Bytes())
	for _, path := range []string{"/sounds/clack-0000000000.wav", "/sounds/gong-0000000000.wav", "/sounds/clack.wav", "/sounds/"} {
		require.Equal(t, http.StatusNotFound, ask(path).Code, path)
	}
}

package web_test

import (
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
)

// A8: from the typed word to the box page it is one press, over plain http, nothing installed; the word itself is tested
// with the wire.
func TestOnePressFromTheWordToTheBox(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	server := httptest.NewServer(web.New(web.Config{Live: e.live, Word: "signal"}))
	t.Cleanup(server.Close)
	p := tablet(t, b, "a guest", onShed(t, server.URL)+"/signal", 390, 844)
	require.False(t, eval[bool](p, "isSecureContext"), "plain http on a LAN")
	p.tap(`button.take[data-box="OS"]`, 0)
	p.until(`location.pathname === "/s/demo/box/OS" && document.querySelector("tl-bell")`)
	p.hear()
	require.Len(t, acts(t, e, block.Duty), 1)
}

// A10: the press that takes duty sounds the box's bells, one by one, each named; the answer is recorded. The door shows
// whose ears are unproved, and the start is possible all the same.
func TestEarsAreTried(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	os := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	require.Equal(t, []string{"Ullathwick", "Tolverbeck, Branch Single", "Hexleigh West"}, os.takeDuty("OS"))
	os.until("taillampShelf.wire.kept.length === 0")
	tried := acts(t, e, block.Ears)
	require.Len(t, tried, 1)
	require.Equal(t, "heard", tried[0].Words)

	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	ul.press(`button.take[data-box="UL"]`)
	ul.until(`document.querySelector(".try") && !document.querySelector(".try").hidden`)
	door := tablet(t, b, "the door", e.at, 1024, 768)
	says := func(box string) string {
		return eval[string](door, `document.querySelector('.stop[data-box="`+box+`"] p').textContent`)
	}
	require.Contains(t, says("OS"), "hears the bells")
	require.Contains(t, says("UL"), "bells not tried")
	require.Equal(t, "nobody here", says("SK"))
	lit := `Array.from(document.querySelectorAll(".hut.lit")).map((h) => h.closest(".stop").dataset.box)`
	require.Equal(t, []string{"UL", "OS"}, eval[[]string](door, lit))

	ul.press(".try .no")
	ul.hear()
	ul.until("taillampShelf.wire.kept.length === 0")
	tried = acts(t, e, block.Ears)
	require.Equal(t, "not heard", tried[len(tried)-1].Words, "one bell not heard is not heard")
	door.until(`document.querySelector('.stop[data-box="UL"] p').textContent.indexOf("does not hear") >= 0`)
}

// A9, G1: the door, open all the while, shows which boxes a simulated signaller works: their windows are lit, in words it
// says by whom, and duty can be taken there, from the door and from the box's page; left again, the box is his.
func TestSimulatedSignallerIsRelieved(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	door := tablet(t, b, "the door", e.at, 1024, 768)
	stop := func(box string) string { return `document.querySelector('.stop[data-box="` + box + `"]')` }
	require.NoError(t, e.live.Employ(t.Context(), 1, []block.BoxID{"OS"}))
	simulated := func(box string) string {
		return stop(box) + `.querySelector("p").textContent === "worked by a simulated signaller" && ` + stop(box) + `.querySelector(".hut.lit.simulated") && ` +
			stop(box) + `.querySelector("button.take.relieves")`
	}
	door.until(simulated("UL"))
	require.Equal(t, "nobody here", eval[string](door, stop("OS")+`.querySelector("p").textContent`))
	require.False(t, eval[bool](door, `!!`+stop("OS")+`.querySelector(".lit, .relieves")`))

	ul := tablet(t, b, "Ullathwick", e.at+"/s/demo/box/UL", 1024, 768)
	require.Contains(t, eval[string](ul, `document.querySelector(".strip.looking").innerText`), "worked by a simulated signaller")
	ul.until("window.taillampShelf && taillampShelf.shown")
	ul.takeDuty("UL")
	door.until(stop("UL") + `.querySelector("p").textContent.indexOf("on duty since") === 0 && !` + stop("UL") + `.querySelector(".take, .simulated")`)
	ul.press(".off-duty")
	ul.press(".off-duty")
	door.until(simulated("UL"))
}

// A14: the first page says in its HTML what the tool is not, and so does the page of a box.
func TestSafetyIsInThePage(t *testing.T) {
	e := open(t, "lathermoor", nil)
	for _, path := range []string{"/", "/s/demo/box/OS", "/s/demo/book/OS", "/s/demo/findings"} {
		html := fetch(t, e, path)
		for _, words := range []string{"hobby and training only", "never be the only protection of anything", "passenger-carrying miniature lines",
			"Local rules and licensed practice come first"} {
			require.Contains(t, html, words, path)
		}
		require.NotContains(t, strings.ToLower(html), "the line is clear", "nowhere is it stated that a line is clear (Q14)")
	}
}

// fetch asks for a page as it is before any script runs.
func fetch(t *testing.T, e evening, path string) string {
	t.Helper()
	r, err := http.Get(strings.Replace(e.at, shed, "127.0.0.1", 1) + path)
	require.NoError(t, err)
	defer r.Body.Close()
	require.Equal(t, http.StatusOK, r.StatusCode, path)
	text, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return string(text)
}

// B11: the sequence notice shows the next three trains of the box with class, code, from and to, and by the clock the
// booked time and how late each is.
func TestNoticeOfTheNextTrains(t *testing.T) {
	e := open(t, "lathermoor", func(h *block.Header) {
		h.Layout = strings.Replace(h.Layout, `starts = "15:30"`, `starts = "15:50"`, 1)
	})
	p := tablet(t, browser(t), "Ossenwaite", e.at+"/s/demo/box/OS", 1024, 768) // not beside others: the clock runs
	p.until(`document.querySelector("tl-notice li[data-train]") && window.taillampShelf.shown`)
	require.Equal(t, 3, eval[int](p, `document.querySelectorAll("tl-notice li[data-train]").length`))
	first := eval[string](p, `document.querySelector('tl-notice li[data-train="1"]').innerText.replace(/\s+/g, " ")`)
	require.Contains(t, first, "15.47") // timetable.csv: train 1 arrives at OS at 15.47
	require.Contains(t, first, "3-1")
	require.Contains(t, first, "B · Skelderby to Hexleigh")
	require.Contains(t, first, "3 min late")
	require.Contains(t, fetch(t, e, "/s/demo/box/OS"), "Skelderby to Hexleigh", "the page has it before any script")
}

// Q7: with every other host refused nothing is missing, and nothing is asked of any other host.
func TestNothingFromOutside(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	p := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	p.takeDuty("OS")
	for _, path := range []string{"", "/s/demo/book/OS", "/s/demo/findings", "/s/demo/box/OS", "/"} {
		if path != "" {
			p.open(e.at + path)
		}
		p.until(`document.fonts.status === "loaded"`)
		require.True(t, eval[bool](p, `document.fonts.check("17px Cabin")`), "the typeface comes from here")
		asked := eval[[]string](p, `performance.getEntriesByType("resource").map((r) => r.name)`)
		require.NotEmpty(t, asked)
		for _, a := range asked {
			require.True(t, strings.HasPrefix(a, e.at+"/"), "%s asks for %s", path, a)
		}
		failed := eval[[]string](p, `performance.getEntriesByType("resource").filter((r) => r.responseStatus >= 400).map((r) => r.name)`)
		require.Empty(t, failed, path)
	}
}

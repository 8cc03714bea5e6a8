package web_test

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
)

// C2, C3: the signaller who asks for advice is told the next act, why and by which regulation, after a while; his
// tablet alone: no frame comes to another. When he does such an act of his own accord he is told later the next time.
// It can be called at once, and turned off.
func TestAdviceIsPrivateAndFades(t *testing.T) {
	b := besides(t)
	e := open(t, "tiny", nil)
	ul := tablet(t, b, "Ullathwick", e.at, 1024, 768)
	os := tablet(t, b, "Ossenwaite", e.at, 1024, 768)
	ul.takeDuty("UL")
	os.takeDuty("OS")
	require.True(t, eval[bool](os, `document.querySelector(".strip.advice").hidden`))
	os.press("nav .advice")
	os.until(`document.querySelector(".strip.advice b").textContent === "Nothing to do now."`)

	ul.ring(os, pair, "1")
	eval[bool](ul, `window.frames_ = 0, ["present", "news", "ring", "answer"].forEach((n) => taillampShelf.wire.addEventListener(n, () => window.frames_++)), true`)
	os.until(`document.querySelector(".strip.advice b").textContent === "Answer Ullathwick: ring 1."`)
	require.Contains(t, eval[string](os, `document.querySelector(".strip.advice span").textContent`), "answer with one beat")
	require.True(t, eval[bool](os, `document.querySelector(".plunger").classList.contains("advised")`), "the bell is ringed")
	require.Zero(t, eval[int](ul, `window.frames_`), "nobody else hears of it")
	require.True(t, eval[bool](ul, `document.querySelector(".strip.advice").hidden`))

	os.ring(ul, pair, "1")
	ul.ring(os, pair, "4")
	os.until(`document.querySelector(".strip.advice b").textContent === "Something is to be done."`)
	os.ring(ul, pair, "4") // before he was told
	os.until(`document.querySelector(".strip.advice button").hidden === false`)
	os.press(".strip.advice button")
	os.until(`document.querySelector(".strip.advice b").textContent === "Turn the needle for trains from Ullathwick to line clear."`)
	os.until(`document.querySelector('[data-show="clear"]').classList.contains("advised")`)
	require.Equal(t, 1.0, eval[float64](os, `Object.values(JSON.parse(localStorage.getItem("taillamp-advice")).right)[0]`))
	os.press("nav .advice")
	os.until(`document.querySelector(".strip.advice").hidden && !document.querySelector(".advised")`)
}

// Only the signaller of a box is advised there, and nothing of it stands in the record.
func TestAdviceIsForItsOwnSignaller(t *testing.T) {
	s := serve(t, sitting.NewMemory())
	ticket := s.duty(ullathwick)
	before, _ := s.live.Snapshot()
	ask := func(box block.BoxID, ticket string) int {
		r, err := http.NewRequest(http.MethodGet, s.http.URL+"/s/evening/advice/"+string(box), nil)
		require.NoError(t, err)
		r.AddCookie(&http.Cookie{Name: "seat-evening-" + string(box), Value: ticket})
		answer, err := http.DefaultClient.Do(r)
		require.NoError(t, err)
		require.NoError(t, answer.Body.Close())
		return answer.StatusCode
	}
	require.Equal(t, http.StatusOK, ask(ullathwick, ticket))
	require.Equal(t, http.StatusForbidden, ask(ossenwaite, ticket))
	require.Equal(t, http.StatusForbidden, ask(ullathwick, "AAAAA-AAAAA-AAAAA"))
	after, _ := s.live.Snapshot()
	require.Equal(t, before, after)
}

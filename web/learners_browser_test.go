package web_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/web"
	"taillamp/web/syllabus"
)

// H4: the instructor comes from the owner's page to the sheets of all learners, reads them as a syllabus, and tears one up by
// two presses because its learner asked for it.
func TestInstructorReadsTheSheets(t *testing.T) {
	b := besides(t)
	e := open(t, "tiny", nil)
	sheets := syllabus.InMemory()
	for n, name := range []string{"Anna", "", "Ben of the Thursday class"} {
		id := syllabus.IDOf(name)
		for lesson := 1; lesson <= 4-n; lesson++ {
			began := time.Date(2026, 3, 14+n, 19, lesson, 0, 0, time.UTC)
			require.NoError(t, sheets.Begin(id, lesson, began))
			require.NoError(t, sheets.End(id, syllabus.Try{Lesson: lesson, Began: began, Ended: began.Add(time.Minute), Shown: lesson < 3,
				Said: []string{"Well done: codes repeated exactly at the first attempt, 8 of 8.", "Take it once more."}}))
		}
		require.NoError(t, sheets.Name(id, name))
	}
	at, key := owned(t, web.Config{Live: e.live, Sheets: sheets})
	p := tablet(t, b, "the instructor", at+"/owner#"+key, 1024, 768)
	p.until(`document.querySelector('nav a[href$="/learners"]')`)
	p.press(`nav a[href$="/learners"]`)
	p.until(`document.querySelectorAll(".learner").length === 3`)
	shots(p, "learners")(t)
	require.Contains(t, eval[string](p, `document.querySelector(".learner").innerText`), "Ben of the Thursday class")
	const forget = `.learner button`
	p.press(forget)
	require.Len(t, sheets.All(), 3, "one press is none")
	p.press(forget)
	p.until(`document.querySelectorAll(".learner").length === 2`)
	require.Len(t, sheets.All(), 2)
}

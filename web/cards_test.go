package web_test

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
)

// D15, H3: a card of the demo is dealt by two presses; the tablet of the box that it is for shows it until its signaller
// says that he has read it, and no other tablet does.
func TestOwnerDealsACard(t *testing.T) {
	b := besides(t)
	e := open(t, "lathermoor", nil)
	at, key := owned(t, web.Config{Live: e.live})
	owner := tablet(t, b, "the owner", at+"/owner#"+key, 1024, 768)
	owner.until(`document.querySelector(".card-deal")`)
	ul, os := tablet(t, b, "Ullathwick", at, 1024, 768), tablet(t, b, "Ossenwaite", at, 1024, 768)
	ul.takeDuty("UL")
	os.takeDuty("OS")
	eval[any](owner, `document.querySelector(".cards").scrollIntoView()`)
	shots(owner, "owner-cards")(t)
	hot := `.card-deal input[value="1"] ~ button`
	owner.press(hot)
	require.Empty(t, acts(t, e, block.Remark), "one press is none")
	owner.press(hot)
	ul.until(`document.querySelector(".strip.told").textContent.includes("Hot box. Smoke is seen from the seventh wagon of 11")`)
	owner.until(`document.querySelector(".did").textContent.includes("To UL: Hot box")`)
	shots(ul, "card-told")(t)
	require.True(t, eval[bool](os, `document.querySelector(".strip.told").hidden`))
	ul.press(".strip.told button")
	ul.until(`document.querySelector(".strip.told").hidden`)
	remarks := acts(t, e, block.Remark)
	require.Len(t, remarks, 2)
	require.Contains(t, remarks[1].Words, "Read at UL: Hot box.")
}

// D15: where a layout has no cards of its own, there are seven of any evening, each told to the box that the owner chooses.
func TestCardsOfAnyEvening(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	page := e.page()
	for _, name := range []string{"Hot box", "Divided train", "Token failure", "Engine failure", "Fog", "Late running", "Special train"} {
		require.Contains(t, page, "<b>"+name+"</b>")
	}
	require.Contains(t, e.does(url.Values{"do": {"deal"}, "card": {"4"}, "box": {"OS"}}), "To OS: Fog. Fog has come down.")
	for _, bad := range []url.Values{{"do": {"deal"}, "card": {"7"}, "box": {"OS"}}, {"do": {"deal"}, "card": {"4"}, "box": {"XX"}}, {"do": {"deal"}, "card": {"-1"}}} {
		answer, _ := e.asks("POST", "/s/evening/owner", bad, nil)
		require.Equal(t, 409, answer.StatusCode, bad)
	}
	require.Contains(t, e.does(url.Values{"do": {"tell"}, "box": {"UL"}, "words": {"well done"}}), "To UL: well done")
}

// D15, H2, D12: what the owner may put in stands on his board: cards, what happens on the line, instruments. With a time it is
// planned, listed and withdrawn; with minutes an instrument that fails is mended after them. What cannot be is said in a
// sentence.
func TestOwnerPutsSomethingIn(t *testing.T) {
	e := serveOwner(t)
	e.enters()
	page := e.page()
	require.Contains(t, page, "Nothing is planned.")
	require.NotContains(t, page, "told to nobody", "no simulated train runs")
	put := func(fields ...string) url.Values {
		v := url.Values{"do": {"put"}, "box": {"OS"}}
		for n := 0; n < len(fields); n += 2 {
			v.Set(fields[n], fields[n+1])
		}
		return v
	}
	begins := e.live.District().At(e.clock.Now())
	at := func(minutes int) string { return begins.Add(time.Duration(minutes) * time.Minute).Format("15.04") }
	page = e.does(put("what", "deal 4", "at", at(10)))
	require.Contains(t, page, "<time>"+at(10)+"</time> Card: Fog, for Ossenwaite Junction")
	require.Contains(t, page, "Planned at "+at(10)+": Card: Fog")
	page = e.does(put("what", "fail UL-OS bell", "at", at(5), "minutes", "3"))
	require.Contains(t, page, "<time>"+at(5)+"</time> Bell between Ullathwick and Ossenwaite Junction fails")
	require.Contains(t, page, "<time>"+at(8)+"</time> Bell between Ullathwick and Ossenwaite Junction is mended")
	page = e.does(url.Values{"do": {"unplan"}, "plan": {planNo(t, page, "Card: Fog")}})
	require.NotContains(t, page, "</time> Card: Fog")
	require.Contains(t, page, "Withdrawn: Card: Fog")
	page = e.does(put("what", "fail UL-OS needle"))
	require.Contains(t, page, "Needles between Ullathwick and Ossenwaite Junction made to fail")
	require.Contains(t, e.does(put("what", "mend UL-OS needle")), "Needles between Ullathwick and Ossenwaite Junction mended")

	for _, bad := range []struct {
		fields url.Values
		says   string
	}{
		{put("what", "deal 4", "at", at(-5)), "That time has passed."},
		{put("what", "deal 4", "at", "soon"), "Write a time of day"},
		{put("what", "deal 4", "at", at(5), "minutes", "x"), "Write a number of minutes"},
		{put("what", "happen hot-box"), "No simulated train is there to do it."},
		{put("what", "happen snow"), "simulated"},
		{put("what", "nonsense"), "cannot"},
		{url.Values{"do": {"unplan"}, "plan": {"999"}}, "It is so already"},
		{url.Values{"do": {"nomore"}, "does": {"fog"}}, "It is so already"},
	} {
		answer, text := e.asks("POST", "/s/evening/owner", bad.fields, nil)
		require.Equal(t, 409, answer.StatusCode, bad.fields)
		require.Contains(t, text, bad.says, bad.fields)
	}

	page = e.does(url.Values{"do": {"simulate"}, "box": {"UL"}})
	require.Contains(t, page, "told to nobody")
	page = e.does(put("what", "happen divided", "train", "1", "minutes", "15"))
	require.Contains(t, page, "Divided train, train 1, Ossenwaite Junction, 15 minutes: waits for its train")
	page = e.does(url.Values{"do": {"nomore"}, "does": {"divided"}, "box": {"OS"}, "train": {"1"}})
	require.NotContains(t, page, "waits for its train")
	require.Contains(t, page, "15 minutes: no more")
}

// planNo is the number of a plan that stands on the owner's page.
func planNo(t *testing.T, page, words string) string {
	t.Helper()
	rest, _, ok := strings.Cut(page, "</time> "+words)
	require.True(t, ok)
	_, value, ok := strings.Cut(rest[strings.LastIndex(rest, `name="plan"`):], `value="`)
	require.True(t, ok)
	number, _, _ := strings.Cut(value, `"`)
	return number
}

// D15, H2: the owner plans a card for a time of the district's clock at his page; his list has it, and at that time, no
// sooner, the tablet of the box that it is for shows it.
func TestOwnerDealsAtATime(t *testing.T) {
	b := besides(t)
	e := open(t, "tiny", nil)
	at, key := owned(t, web.Config{Live: e.live})
	owner := tablet(t, b, "the owner", at+"/owner#"+key, 1024, 768)
	owner.until(`document.querySelector(".to-come")`)
	ul, os := tablet(t, b, "Ullathwick", at, 1024, 768), tablet(t, b, "Ossenwaite", at, 1024, 768)
	ul.takeDuty("UL")
	os.takeDuty("OS")
	due := e.live.District().At(e.live.Now()).Add(10 * time.Second).Truncate(time.Second)
	owner.press(".to-come summary")
	eval[int](owner, `(document.querySelector(".to-come").scrollIntoView(), 0)`)
	shots(owner, "owner-put")(t)
	eval[int](owner, `(document.querySelector('.to-come [name="what"]').value = "deal 4", document.querySelector('.to-come [name="box"]').value = "OS",
		document.querySelector('.to-come [name="at"]').value = "`+due.Format("15.04.05")+`", 0)`)
	owner.press(`.to-come button[value="put"]`)
	require.Empty(t, acts(t, e, block.Plans), "one press is none")
	owner.press(`.to-come button[value="put"]`)
	owner.until(`document.querySelector(".planned").textContent.includes("Card: Fog, for Ossenwaite Junction")`)
	eval[int](owner, `(document.querySelector(".to-come").scrollIntoView(), 0)`)
	shots(owner, "owner-planned")(t)
	require.True(t, eval[bool](os, `document.querySelector(".strip.told").hidden`), "not yet")
	os.until(`document.querySelector(".strip.told").textContent.includes("Fog. Fog has come down.")`)
	require.True(t, eval[bool](ul, `document.querySelector(".strip.told").hidden`))
	owner.until(`document.querySelector(".planned").textContent.includes("Nothing is planned.")`)
	told := acts(t, e, block.Remark)
	require.Len(t, told, 1)
	boardFits(t, owner, ".to-come", "to-come") // Q5: its form is open
	require.False(t, e.live.District().At(told[0].At).Before(due))
}

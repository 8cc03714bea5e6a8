package web_test

import (
	"net/http/httptest"
	"net/url"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/sitting"
)

// D15, H3: a card of the demo is dealt by two presses; the tablet of the box that it is for shows it until its signaller
// says that he has read it, and no other tablet does.
func TestOwnerDealsACard(t *testing.T) {
	e := open(t, "lathermoor", nil)
	key := sitting.NewOwnerKey()
	server := httptest.NewServer(web.New(web.Config{Live: e.live, Owner: key}))
	t.Cleanup(server.Close)
	at := onShed(t, server.URL)
	b := besides(t)
	owner := tablet(t, b, "the owner", at+"/owner#"+key, 1024, 768)
	owner.until(`document.querySelector(".card-deal")`)
	ul, os := tablet(t, b, "Ullathwick", at, 1024, 768), tablet(t, b, "Ossenwaite", at, 1024, 768)
	ul.takeDuty("UL")
	os.takeDuty("OS")
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

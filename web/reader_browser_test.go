package web_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"taillamp/block/review"
)

// reader is a tablet as one has it who does not see it: what stands in the tree that the browser gives to a screen reader is
// found by role and name and pressed as a screen reader presses, without finger or key, and nothing is known of the page but
// what it has spoken in its live parts.
type reader struct{ *tab }

// find gives what has that role, and a name with those words in it.
func (r reader) find(role, words string) runtime.RemoteObjectID {
	r.t.Helper()
	for end := time.Now().Add(patience); ; pause(100 * time.Millisecond) {
		tree, err := chromedp.Call(r.ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
		require.NoError(r.t, err)
		var names []string
		for _, n := range tree.Nodes {
			if n.Ignored || said(r.t, n.Role) != role {
				continue
			}
			name := said(r.t, n.Name)
			names = append(names, name)
			if strings.Contains(name, words) {
				node, err := chromedp.Call(r.ctx, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: n.BackendDOMNodeID})
				require.NoError(r.t, err)
				return node.Object.ObjectID
			}
		}
		require.True(r.t, time.Now().Before(end), "%s: there is no %s %q; there are %q", r.who, role, words, names)
	}
}

func said(t *testing.T, v *accessibility.Value) string {
	t.Helper()
	if v == nil || len(v.Value) == 0 {
		return ""
	}
	var words string
	if json.Unmarshal(v.Value, &words) != nil {
		return "" // no text
	}
	return words
}

// activates presses a button so many times, as groups of beats in an even rhythm; "1" is one press.
func (r reader) activates(name, code string) {
	r.t.Helper()
	what := r.find("button", name)
	for n, group := range strings.Split(code, "-") {
		if n > 0 {
			pause(450 * time.Millisecond)
		}
		for range group[0] - '0' {
			_, err := chromedp.Call(r.ctx, runtime.CallFunctionOn, runtime.CallFunctionOnParams{FunctionDeclaration: "function () { this.click(); }", ObjectID: what})
			require.NoError(r.t, err)
			pause(300 * time.Millisecond)
		}
	}
}

// listens keeps what the live parts of the page say from now on.
func (r reader) listens() {
	r.t.Helper()
	require.True(r.t, eval[bool](r.tab, `(() => { window.spoke = []; for (const e of document.querySelectorAll("[aria-live=polite],[aria-live=assertive],[role=status],[role=alert]"))
		new MutationObserver(() => { if (e.offsetParent !== null || e.classList.contains("spoken")) window.spoke.push(e.textContent); })
			.observe(e, { childList: true, subtree: true, characterData: true }); return true; })()`))
}

// hears waits until the page has spoken those words since it was last asked.
func (r reader) hears(words string) {
	r.t.Helper()
	r.until(`(() => { const at = window.spoke.findIndex((s) => s.includes(` + quote(words) + `)); if (at < 0) return false; window.spoke.splice(0, at + 1); return true; })()`)
}

// Q3: a train is worked from its offer to its end at two tablets by roles, names and spoken words alone, and nothing is found
// in it against the regulations.
func TestTrainByScreenReader(t *testing.T) {
	b := besides(t)
	e := open(t, "tiny", nil)
	ul, oss := reader{tablet(t, b, "Ullathwick", e.at, 1024, 768)}, reader{tablet(t, b, "Ossenwaite", e.at, 1024, 768)}
	for _, r := range []struct {
		reader
		box string
	}{{ul, "Ullathwick"}, {oss, "Ossenwaite"}} {
		r.activates("Take duty: "+r.box, "1")
		r.activates("Heard", "1")
		r.until(`window.taillampShelf && document.querySelector(".try").hidden`)
		r.listens()
	}
	rings := func(from, to reader, far, code, means string) {
		t.Helper()
		from.activates("bell to "+far, code)
		to.hears(" rang " + code + means)
		pause(500 * time.Millisecond)
	}
	toOS, toUL := func(code, means string) { t.Helper(); rings(ul, oss, "Ossenwaite", code, means) }, func(code, means string) { t.Helper(); rings(oss, ul, "Ullathwick", code, means) }
	toOS("1", ", call attention")
	toUL("1", ", repeats your 1")
	toOS("3-1", ", is line clear for")
	toUL("3-1", ", repeats your 3-1")
	oss.activates("Line clear", "1")
	ul.until(`document.querySelector('` + needle(down) + `').getAttribute("shows") === "clear"`)
	toOS("2", ", train entering section")
	toUL("2", ", repeats your 2")
	oss.activates("Train on line", "1")
	pause(3 * time.Second)
	oss.activates("Tail lamp", "1")
	toUL("1", ", call attention")
	toOS("1", ", repeats your 1")
	toUL("2-1", ", train out of section")
	toOS("2-1", ", repeats your 2-1")
	oss.activates("Line blocked", "1")
	ul.until(`document.querySelector('` + needle(down) + `').getAttribute("shows") === "blocked"`)
	require.Len(t, acts(t, e, "train"), 1, "the tail lamp")
	for f, err := range review.Of(e.live.Rules(), e.live.Entries(t.Context())) {
		require.NoError(t, err)
		t.Errorf("%s at %s: %s", f.Rule, f.Box, f.Says)
	}
}

package web

import (
	"go/ast"
	"go/parser"
	"go/token"
	"html"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

// seen is the text of a page that a person can read or have read to him: no markup, no script.
func seen(t *testing.T, h http.Handler, path string) string {
	t.Helper()
	w := httptest.NewRecorder()
	h.ServeHTTP(w, httptest.NewRequest(http.MethodGet, path, nil))
	require.Equal(t, http.StatusOK, w.Code, path)
	text := regexp.MustCompile(`(?s)<script.*?</script>`).ReplaceAllString(w.Body.String(), " ")
	labels := regexp.MustCompile(`(?:aria-label|data-label|title)="([^"]*)"`).FindAllStringSubmatch(text, -1)
	text = regexp.MustCompile(`<[^>]*>`).ReplaceAllString(text, " ")
	for _, l := range labels {
		text += " " + l[1]
	}
	return strings.Join(strings.Fields(html.UnescapeString(text)), " ")
}

// told is every message that the server has for a page.
func told(t *testing.T) []string {
	t.Helper()
	r, err := block.Embedded("lathermoor")
	require.NoError(t, err)
	all := []string{
		wordsOf(r, &register.DiffersError{Seq: 100000}).words,
		wordsOf(r, &sitting.TakenError{Who: "Mary Ellen Postlethwaite-Fell"}).words,
		wordsOf(r, http.ErrNotSupported).words, // one that nobody foresaw
	}
	for _, s := range sayings() {
		all = append(all, s.words)
	}
	for _, why := range []block.Reason{block.NoLineClear, block.AlreadyUsed, block.Sequence, block.TrainNotOut, block.HomeNotOn,
		block.BerthTaken, block.Collared, block.NoRelease, block.NoToken, block.TokenOut, block.WrongToken, block.NotDrawn,
		block.SwitchLocked, block.Failed, "one that nobody foresaw"} {
		all = append(all, refusal(why))
	}
	return append(all, literals(t)...)
}

// literals are the sentences in this package's own source that answer a request that cannot be met.
func literals(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	var all []string
	for _, name := range files {
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		require.NoError(t, err)
		ast.Inspect(f, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) < 3 || strings.HasSuffix(name, "_test.go") {
				return true
			}
			sel, ok := call.Fun.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			if x, ok := sel.X.(*ast.Ident); !ok || sel.Sel.Name != "bye" && (x.Name != "http" || sel.Sel.Name != "Error") {
				return true
			}
			if lit, ok := call.Args[1].(*ast.BasicLit); ok && lit.Kind == token.STRING {
				words, err := strconv.Unquote(lit.Value)
				require.NoError(t, err)
				all = append(all, words)
			}
			return true
		})
	}
	require.GreaterOrEqual(t, len(all), 8, "the source was read")
	return all
}

// Q9: every message is 25 words at most, and a sentence.
func TestMessagesAreShort(t *testing.T) {
	for _, words := range told(t) {
		require.LessOrEqual(t, len(strings.Fields(words)), 25, words)
		require.Regexp(t, `^[A-Z].*([.?!]|: /| at /)$`, words)
	}
	for _, g := range glossary() {
		require.LessOrEqual(t, len(strings.Fields(g.Says)), 25, g.Word)
		require.Regexp(t, `^[A-Z].*\.$`, g.Says)
		require.Equal(t, 1, strings.Count(g.Says, "."), "one sentence: %s", g.Word)
	}
}

// Q9: each word of the glossary is used on a page, on a code card or in a message, and each stands there once.
func TestGlossaryIsOfWordsUsed(t *testing.T) {
	s := served(t, "lathermoor")
	h := New(Config{Live: s.live})
	quarnaby, err := s.live.TakeDuty(t.Context(), "QU", "")
	require.NoError(t, err)
	_, err = s.live.Act(t.Context(), quarnaby, 1, block.Event{Do: block.Switch}) // so that its instruments are on a shelf
	require.NoError(t, err)
	text := strings.Join(told(t), " ")
	for _, path := range []string{"/", "/s/demo/findings", "/s/demo/graph", "/s/demo/book/OS", "/s/demo/box/OS", "/s/demo/box/TO", "/s/demo/box/HX", "/s/demo/box/QU", "/s/demo/codes/OS"} {
		text += " " + seen(t, h, path)
	}
	var simulated stop
	simulated.staff(sitting.Staffing{OnDuty: true, Simulated: true}, s.live.District())
	text += " " + simulated.Words
	_, state := s.live.Snapshot()
	junction := s.live.Rules().View(state, "OS")
	for _, l := range frameOf(&junction) { // where the layout has levers
		text += " " + l.Words
	}
	for _, does := range block.Happenings() { // the owner's page needs his key
		text += " " + happeningNames[does]
	}
	text = strings.ToLower(text)
	var words, unused []string
	for _, g := range glossary() {
		word := strings.ToLower(g.Word)
		words = append(words, word)
		if !regexp.MustCompile(`\b` + word + `s?\b`).MatchString(text) {
			unused = append(unused, word)
		}
	}
	require.Empty(t, unused, "used on no page")
	require.True(t, slices.IsSorted(words), "the words stand in order: %v", words)
	require.Equal(t, len(words), len(slices.Compact(words)))
}

// Q9: no word of computing on a box page, its code card or the glossary.
func TestNoWordsOfComputing(t *testing.T) {
	s := served(t, "lathermoor")
	h := New(Config{Live: s.live})
	computing := regexp.MustCompile(`(?i)\b(server|client|socket|browser|click|network|database|cookie|cache|URL|sync|offline|online|upload|download|session|user|login|log in|error|timeout)\b`)
	for _, path := range []string{"/s/demo/box/OS", "/s/demo/box/TO", "/s/demo/codes/OS", "/words"} {
		require.Empty(t, computing.FindAllString(seen(t, h, path), -1), path)
	}
}

package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/gorilla/websocket"
	"github.com/stretchr/testify/require"
	"rsc.io/qr"

	"taillamp/block"
	"taillamp/web/sitting"
)

// serving is a taillamp at work in this process.
type serving struct {
	t     *testing.T
	stop  context.CancelFunc
	lines []string // what it said up to the safety sentence
	said  *overheard
	code  chan int
}

// overheard is what a taillamp at work writes to standard error: from several goroutines, read while it goes on.
type overheard struct {
	mu   sync.Mutex
	text strings.Builder
}

func (o *overheard) Write(p []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.Write(p)
}

func (o *overheard) String() string {
	o.mu.Lock()
	defer o.mu.Unlock()
	return o.text.String()
}

// start runs `taillamp serve` and waits until it has said all that it says at the start.
func start(t *testing.T, args ...string) *serving {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	from, to := io.Pipe()
	s := &serving{t: t, stop: stop, said: &overheard{}, code: make(chan int, 1)}
	go func() {
		s.code <- run(ctx, append([]string{"serve", "--listen", "127.0.0.1:0"}, args...), stdio{Out: to, Err: s.said})
		to.Close()
	}()
	in := bufio.NewScanner(from)
	for in.Scan() {
		s.lines = append(s.lines, in.Text())
		if strings.HasPrefix(in.Text(), "carries passengers.") {
			go func() { _, _ = io.Copy(io.Discard, from) }()
			return s
		}
	}
	t.Fatalf("taillamp ended with %d: %s", <-s.code, s.said)
	return nil
}

// end interrupts it, as Ctrl-C does, and waits.
func (s *serving) end() {
	s.t.Helper()
	s.stop()
	require.Equal(s.t, exitGood, <-s.code, s.said.String())
}

func (s *serving) find(pattern string) string {
	s.t.Helper()
	m := regexp.MustCompile(pattern).FindStringSubmatch(strings.Join(s.lines, "\n"))
	require.NotNil(s.t, m, "%s in\n%s", pattern, strings.Join(s.lines, "\n"))
	return m[1]
}

// One command serves the demo on the loopback alone: address, word, code and folder are said, no other machine is
// needed (A1, A14, Q7).
func TestServeSaysHowToJoin(t *testing.T) {
	dir := t.TempDir()
	s := start(t, "--dir", dir)
	defer s.end()
	at := s.find(`open +(http://127\.0\.0\.1:\d+/) +this machine only`)
	word := s.find(`or type +` + at + `([a-z]+)`)
	file := s.find(`kept in +(.+)`)
	require.Equal(t, dir, filepath.Dir(file))
	require.FileExists(t, file)
	s.find(`(never be the only protection of anything)`)

	key := s.find(`owner +` + at + `owner#((?:[A-Z3-9]{5}-){3}[A-Z3-9]{5})`)
	let, err := http.PostForm(at+"owner", url.Values{"key": {key}})
	require.NoError(t, err)
	require.NoError(t, let.Body.Close())
	require.Len(t, let.Request.Response.Cookies(), 1, "the owner's key opens his page (L2)")
	require.NotContains(t, s.said.String(), key)

	answer, err := http.Get(at)
	require.NoError(t, err)
	page, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Equal(t, http.StatusOK, answer.StatusCode)
	require.Contains(t, string(page), "Ossenwaite")

	typed, err := http.Get(at + word)
	require.NoError(t, err)
	require.NoError(t, typed.Body.Close())
	require.Equal(t, at, typed.Request.URL.String(), "the word leads to the door (A8)")
	require.Equal(t, modules(t, at), drawn(s.lines), "the code is that of the address")
}

// modules is a text as the library encodes it, with the quiet zone of ISO/IEC 18004 round it.
func modules(t *testing.T, text string) []string {
	code, err := qr.Encode(text, qr.L)
	require.NoError(t, err)
	var rows []string
	for y := -4; y < code.Size+4; y++ {
		var b strings.Builder
		for x := -4; x < code.Size+4; x++ {
			b.WriteByte(map[bool]byte{true: '#', false: '.'}[code.Black(x, y)])
		}
		rows = append(rows, b.String())
	}
	return rows
}

// drawn reads the half blocks of a terminal back into modules. The last line of an odd number of rows is half empty.
func drawn(lines []string) []string {
	at := slices.IndexFunc(lines, func(l string) bool { return strings.Contains(l, "or scan") })
	var rows []string
	for _, l := range lines[at+1:] {
		l, ok := strings.CutPrefix(l, "    ")
		if !ok {
			break
		}
		var upper, lower strings.Builder
		for _, r := range l {
			upper.WriteByte(map[bool]byte{true: '#', false: '.'}[r == '█' || r == '▀'])
			lower.WriteByte(map[bool]byte{true: '#', false: '.'}[r == '█' || r == '▄'])
		}
		rows = append(rows, upper.String(), lower.String())
	}
	return rows[:len(rows)-len(rows)%2-1] // QR codes have an odd number of rows
}

// An evening broken off goes on; --fresh ends it, keeps it and begins another (A13).
func TestAnUnfinishedSittingGoesOn(t *testing.T) {
	dir := t.TempDir()
	first := start(t, "--dir", dir, "--layout", "tiny")
	name := first.find(`sitting (\S+) begins`)
	first.end()

	again := start(t, "--dir", dir)
	require.Equal(t, name, again.find(`sitting (\S+) goes on`), "whatever its layout")
	again.end()

	fresh := start(t, "--dir", dir, "--fresh", "--layout", "tiny")
	other := fresh.find(`sitting (\S+) begins`)
	fresh.end()
	require.NotEqual(t, name, other)

	old, err := os.ReadFile(filepath.Join(dir, name+sittingEnding))
	require.NoError(t, err)
	require.Contains(t, string(old), `"mark":"close"`, "the old one is kept, and ended")
	kept, err := os.ReadFile(filepath.Join(dir, other+sittingEnding))
	require.NoError(t, err)
	require.NotContains(t, string(kept), `"mark":"close"`, "Ctrl-C ends nothing for good")
}

// fails runs serve, which must not come to its start, and gives what it complained of.
func fails(t *testing.T, code int, args ...string) string {
	t.Helper()
	ctx, stop := context.WithTimeout(t.Context(), 30*time.Second)
	defer stop()
	var out, complaint strings.Builder
	got := run(ctx, append([]string{"serve"}, args...), stdio{Out: &out, Err: &complaint})
	require.Equal(t, code, got, "%s%s", out.String(), complaint.String())
	return complaint.String()
}

func TestServeRefusesInOneSentence(t *testing.T) {
	taken, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer taken.Close()
	at := taken.Addr().String()
	dir := t.TempDir()
	require.Equal(t, "taillamp: another program listens at "+at+" already\nhint: --listen :0 takes a free one\n",
		fails(t, exitCould, "--listen", at, "--dir", dir))
	empty, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Empty(t, empty, "nothing was begun where nothing can be served")

	require.Contains(t, fails(t, exitUsage, "--listen", "5550", "--dir", dir), `--listen cannot be "5550"`)
	require.Contains(t, fails(t, exitUsage, "--loud"), "serve: there is no flag --loud")
	require.Contains(t, fails(t, exitUsage, "lathermoor"), `serve can do nothing with "lathermoor"`)
	require.Contains(t, fails(t, exitMaterial, "--listen", "127.0.0.1:0", "--dir", dir, "--layout", "nowhere"), "there is no such layout")

	require.Contains(t, fails(t, exitUsage, "--listen", "127.0.0.1:0", "--dir", t.TempDir(), "--plays", "OS=x.jsonl"), "--plays needs --people")
	for _, c := range []struct {
		code        int
		played, why string
	}{
		{exitUsage, "OS", `--plays cannot be "OS"`}, {exitMaterial, "XX=x.jsonl", "XX"}, {exitMaterial, "OS=none.jsonl", "none.jsonl"},
		{exitMaterial, "OS=../../testdata/sittings/format-1/tiny.jsonl", "another layout"},
	} {
		require.Contains(t, fails(t, c.code, "--listen", "127.0.0.1:0", "--dir", t.TempDir(), "--people", "UL", "--plays", c.played), c.why)
	}

	faulty := filepath.Join(dir, "line.toml")
	require.NoError(t, os.WriteFile(faulty, []byte("format = 1\ntitel = \"x\"\n"), 0o644))
	require.Contains(t, fails(t, exitMaterial, "--listen", "127.0.0.1:0", "--dir", dir, "--layout", faulty), "hint: taillamp check "+faulty)
}

// G12: a hand of an earlier sitting of the same layout is played back from the beginning of a new one.
func TestServePlaysBackAHand(t *testing.T) {
	dir := t.TempDir()
	s := start(t, "--dir", dir, "--layout", "tiny")
	file := s.find(`kept in +(.+)`)
	s.end()
	s = start(t, "--dir", t.TempDir(), "--layout", "tiny", "--people", "UL", "--plays", "OS="+file)
	defer s.end()
	s.find(`people +(UL); simulated signallers work the other boxes`)
}

// A damaged sitting is never gone on with, and never altered (Q13).
func TestServeLeavesADamagedSittingAlone(t *testing.T) {
	dir := t.TempDir()
	s := start(t, "--dir", dir)
	file := s.find(`kept in +(.+)`)
	s.end()
	again := start(t, "--dir", dir)
	again.end()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	text[strings.Index(string(text), `"mark":"open"`)+2] ^= 1
	require.NoError(t, os.WriteFile(file, text, 0o644))
	complaint := fails(t, exitMaterial, "--listen", "127.0.0.1:0", "--dir", dir)
	require.Contains(t, complaint, "is damaged: line 2")
	require.Contains(t, complaint, "hint: --fresh begins another")
	after, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, text, after)
}

func TestJoinWordsCanBeTypedByEar(t *testing.T) {
	seen := map[string]bool{}
	for _, w := range strings.Fields(joinWords) {
		require.LessOrEqual(t, len(w), 8, w)
		require.NotContains(t, w, "rn", w)
		require.False(t, strings.ContainsAny(w, "ilo01"), "%s has letters that look alike", w)
		require.Regexp(t, `^[a-z]+$`, w)
		require.False(t, seen[w], "%s is there twice", w)
		seen[w] = true
	}
	require.Greater(t, len(seen), 20)
	require.Equal(t, joinWord("lathermoor-2026-03-14"), joinWord("lathermoor-2026-03-14"))
}

func TestSittingsAreNamedByTheirLayout(t *testing.T) {
	for layout, want := range map[string]string{
		"tiny": "tiny", "shed/My Line, 2nd.toml": "my-line--2nd", "shed/north/layout.toml": "north", "é.toml": "sitting",
		strings.Repeat("long", 20): strings.Repeat("long", 12),
	} {
		require.Equal(t, want, slug(filepath.FromSlash(layout)), layout)
	}
}

// fullDisk keeps sittings like the keeper it stands before, until it is full.
type fullDisk struct{ sitting.Keeper }

func (f fullDisk) Begin(ctx context.Context, name string, h block.Header) (sitting.Record, error) {
	r, err := f.Keeper.Begin(ctx, name, h)
	return &fullRecord{Record: r}, err
}

type fullRecord struct {
	sitting.Record
	batches int
}

// Append takes the opening mark and nothing more.
func (r *fullRecord) Append(ctx context.Context, entries ...block.Entry) error {
	if r.batches++; r.batches > 1 {
		return syscall.ENOSPC
	}
	return r.Record.Append(ctx, entries...)
}

// A sitting whose disk refuses is said to be over at once, its books stay open, and the exit status tells of it (Q13).
func TestServeSaysWhenTheDiskRefuses(t *testing.T) {
	d, err := findDistrict("tiny")
	require.NoError(t, err)
	host := sitting.NewHost(fullDisk{sitting.NewMemory()}, sitting.NewRealClock(), program())
	live, err := host.Open(t.Context(), "tiny", d.header)
	require.NoError(t, err)
	door, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	ctx, stop := context.WithCancel(t.Context())
	from, to := io.Pipe()
	served := make(chan error, 1)
	go func() {
		served <- (&worked{host: host, live: live}).serve(ctx, door, slog.New(slog.DiscardHandler), stdio{Out: io.Discard, Err: to})
	}()
	_, err = live.TakeDuty(t.Context(), "OS", "somebody")
	require.ErrorIs(t, err, sitting.ErrNotKept)
	said := bufio.NewScanner(from)
	require.True(t, said.Scan())
	require.Contains(t, said.Text(), "taillamp: nothing more is recorded: ")
	require.True(t, said.Scan())
	require.Contains(t, said.Text(), "hint: Ctrl-C")

	answer, err := http.Get("http://" + door.Addr().String() + "/s/tiny/book/OS")
	require.NoError(t, err)
	require.NoError(t, answer.Body.Close())
	require.Equal(t, http.StatusOK, answer.StatusCode, "the books can still be read")
	stop()
	var f fault
	require.ErrorAs(t, <-served, &f)
	require.Equal(t, exitCould, f.code)
}

// Ctrl-C tells every tablet goodbye before the program ends, and that it may come back.
func TestServeTellsTheTabletsGoodbye(t *testing.T) {
	s := start(t, "--dir", t.TempDir(), "--layout", "tiny")
	at := strings.TrimSuffix(s.find(`open +http(://127\.0\.0\.1:\d+)/`), "/")
	name := s.find(`sitting (\S+) begins`)
	socket, _, err := websocket.DefaultDialer.Dial("ws"+at+"/s/"+name+"/wire", nil)
	require.NoError(t, err)
	defer socket.Close()
	require.NoError(t, socket.WriteJSON(map[string]any{"kind": "hello", "proto": sitting.Protocol, "sitting": name, "as": sitting.LooksOn}))
	var frame struct {
		Kind  string
		Again bool
	}
	require.NoError(t, socket.ReadJSON(&frame))
	require.Equal(t, "welcome", frame.Kind)
	s.end()
	for frame.Kind != "close" {
		require.NoError(t, socket.ReadJSON(&frame))
	}
	require.True(t, frame.Again)
}

// H4: a learner's sheet is there at the next start; a file among them that is none is told in a sentence, and keeps nobody
// from his lessons.
func TestSheetsAreThereAtTheNextStart(t *testing.T) {
	dir := t.TempDir()
	s := start(t, "--layout", "tiny", "--dir", dir)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	browser := &http.Client{Jar: jar}
	at := "http://" + s.find(`(127\.0\.0\.1:\d+)`)
	begun, err := browser.Post(at+"/lessons/2", "", nil)
	require.NoError(t, err)
	require.NoError(t, begun.Body.Close())
	require.Equal(t, http.StatusOK, begun.StatusCode)
	s.end()

	torn := filepath.Join(dir, "learners", "torn.json")
	require.NoError(t, os.WriteFile(torn, []byte("{"), 0o600))
	s = start(t, "--layout", "tiny", "--dir", dir)
	defer s.end()
	require.Contains(t, s.said.String(), torn+" is no learner's sheet")
	answer, err := browser.Get("http://" + s.find(`(127\.0\.0\.1:\d+)`) + "/lessons")
	require.NoError(t, err)
	text, err := io.ReadAll(answer.Body)
	require.NoError(t, errors.Join(err, answer.Body.Close()))
	require.Contains(t, string(text), "begun, and not ended")
}

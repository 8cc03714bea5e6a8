//go:build fleet

package main

import (
	"bytes"
	"io"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
	"taillamp/web/sitting/fleet"
)

// anEngine starts one of one node, and gives the address of it.
func anEngine(t *testing.T) string {
	t.Helper()
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	at := free.Addr().String()
	require.NoError(t, free.Close())
	e, err := fleet.Node{Dir: t.TempDir(), Listen: at}.Connect()
	require.NoError(t, err)
	t.Cleanup(e.Close)
	return "nats://" + at
}

// anEvening keeps a sitting in a folder, ended or not, and gives its file.
func anEvening(t *testing.T, dir, name string, over bool) string {
	t.Helper()
	files, err := sitting.NewFiles(dir)
	require.NoError(t, err)
	h, err := block.EmbeddedHeader("tiny")
	require.NoError(t, err)
	live, err := sitting.NewHost(files, sitting.NewRealClock(), "taillamp test").Open(t.Context(), name, h)
	require.NoError(t, err)
	seat, err := live.TakeDuty(t.Context(), "UL", "A. Learner")
	require.NoError(t, err)
	for n := range 20 {
		_, err = live.Act(t.Context(), seat, uint64(n+1), block.Event{Do: block.Remark, Words: "fog"})
		require.NoError(t, err)
	}
	if over {
		require.NoError(t, live.End(t.Context()))
	} else {
		require.NoError(t, live.Close(t.Context()))
	}
	return files.Path(name)
}

// carry runs the word and gives what it said.
func carry(t *testing.T, want int, args ...string) string {
	t.Helper()
	var out, complaint strings.Builder
	code := run(t.Context(), append([]string{"carry"}, args...), stdio{Out: &out, Err: &complaint})
	require.Equal(t, want, code, out.String()+complaint.String())
	return out.String() + complaint.String()
}

// Sittings go into an engine and come back as they are to the byte. One that was not ended goes on there, and comes
// back with what was added; whoever works it lets go of it.
func TestCarryKeepsEveryByte(t *testing.T) {
	engine, dir, back := anEngine(t), t.TempDir(), t.TempDir()
	const over, under = "tiny-2026-03-14", "tiny-2026-03-15"
	ended, err := os.ReadFile(anEvening(t, dir, over, true))
	require.NoError(t, err)
	open, err := os.ReadFile(anEvening(t, dir, under, false))
	require.NoError(t, err)
	require.Contains(t, carry(t, exitGood, dir, engine), "carried "+over)
	require.NoFileExists(t, filepath.Join(dir, over+".jsonl"))
	kept, err := os.ReadFile(filepath.Join(dir, over+".jsonl.carried"))
	require.NoError(t, err)
	require.Equal(t, ended, kept)

	s := start(t, "--fleet", engine)
	at := "http://" + regexp.MustCompile(`127\.0\.0\.1:\d+`).FindString(strings.Join(s.lines, "\n"))
	answers := func(path string) (string, int) {
		r, err := http.Get(at + path)
		require.NoError(t, err)
		defer r.Body.Close()
		text, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		return string(text), r.StatusCode
	}
	comes := func(path string) {
		for end := time.Now().Add(time.Minute); ; <-time.After(50 * time.Millisecond) {
			if _, code := answers(path); code == http.StatusOK {
				return
			}
			require.True(t, time.Now().Before(end), "%s: %s", path, s.said)
		}
	}
	comes("/s/" + under + "/findings")
	_, code := answers("/s/" + over + "/findings")
	require.Equal(t, http.StatusNotFound, code, "what is over is not under way")
	list, _ := answers("/sittings")
	require.Contains(t, list, under)
	require.NotContains(t, list, over)

	carry(t, exitGood, engine, back)
	came, err := os.ReadFile(filepath.Join(back, over+".jsonl"))
	require.NoError(t, err)
	require.Equal(t, ended, came)
	more, err := os.ReadFile(filepath.Join(back, under+".jsonl"))
	require.NoError(t, err)
	require.True(t, bytes.HasPrefix(more, open), "what was carried in is the beginning of what came back")
	require.Greater(t, len(more), len(open), "it was opened there")
	_, err = sitting.CheckWhole(more)
	require.NoError(t, err)
	_, code = answers("/s/" + under + "/findings")
	require.Equal(t, http.StatusNotFound, code)
	s.end()
	files, err := sitting.NewFiles(back)
	require.NoError(t, err)
	live, err := sitting.NewHost(files, sitting.NewRealClock(), "taillamp test").Resume(t.Context(), under)
	require.NoError(t, err, "it goes on in the folder")
	require.NoError(t, live.Close(t.Context()))
}

// What cannot be carried stays where it is, and why is said in one sentence.
func TestCarryLeavesWhatItCannotCarry(t *testing.T) {
	engine, dir, other := anEngine(t), t.TempDir(), t.TempDir()
	require.Contains(t, carry(t, exitMaterial, dir, engine, "nothing"), "there is no sitting nothing")
	file := anEvening(t, dir, "tiny-2026-03-14", true)
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	spoilt := bytes.Replace(text, []byte(`"words":"fog"`), []byte(`"words":"fig"`), 1)
	require.NoError(t, os.WriteFile(file, spoilt, 0o644))
	carry(t, exitCould, dir, engine)
	left, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, spoilt, left)

	require.NoError(t, os.WriteFile(file, text, 0o644))
	carry(t, exitGood, dir, engine)
	anEvening(t, other, "tiny-2026-03-14", true)
	require.Contains(t, carry(t, exitCould, other, engine), "there is another sitting of that name")
	require.FileExists(t, filepath.Join(other, "tiny-2026-03-14.jsonl"))
	require.Contains(t, carry(t, exitCould, engine, other), "there is another sitting of that name")
	carry(t, exitGood, engine, t.TempDir()) // it is in the engine still

	working := anEvening(t, dir, "tiny-2026-03-15", false)
	files, err := sitting.NewFiles(dir)
	require.NoError(t, err)
	r, err := files.Resume(t.Context(), "tiny-2026-03-15")
	require.NoError(t, err)
	require.Contains(t, carry(t, exitCould, dir, engine), "it is being worked")
	require.FileExists(t, working)
	require.NoError(t, r.Close())
}

// A carrying that was broken off in the middle is taken up where it was.
func TestCarryGoesOnWhereItBrokeOff(t *testing.T) {
	engine, dir := anEngine(t), t.TempDir()
	text, err := os.ReadFile(anEvening(t, dir, "tiny-2026-03-14", true))
	require.NoError(t, err)
	e, err := fleet.Connect(engine)
	require.NoError(t, err)
	defer e.Close()
	k := fleet.NewKeeper(e)
	half := bytes.SplitAfterN(text, []byte("\n"), 5)
	require.NoError(t, k.Lay(t.Context(), "tiny-2026-03-14", bytes.Join(half[:4], nil)))
	carry(t, exitGood, dir, engine)
	came, err := k.Text(t.Context(), "tiny-2026-03-14")
	require.NoError(t, err)
	require.Equal(t, string(text), string(came))
}

// A process of its own engine begins a sitting, says that it is ready and gives its figures as OpenMetrics 1.0 asks
// (https://openmetrics.io): every family once, the last line # EOF.
func TestFleetOfOne(t *testing.T) {
	s := start(t, "--fleet", "embedded", "--layout", "tiny", "--dir", t.TempDir())
	at := "http://" + regexp.MustCompile(`127\.0\.0\.1:\d+`).FindString(strings.Join(s.lines, "\n"))
	get := func(path string) string {
		ask, err := http.NewRequest(http.MethodGet, at+path, nil)
		require.NoError(t, err)
		ask.Header.Set("Accept", "application/openmetrics-text; version=1.0.0")
		r, err := http.DefaultClient.Do(ask)
		require.NoError(t, err)
		defer r.Body.Close()
		text, err := io.ReadAll(r.Body)
		require.NoError(t, err)
		if path == "/metrics" {
			require.Contains(t, r.Header.Get("Content-Type"), "application/openmetrics-text")
		}
		return string(text)
	}
	for end := time.Now().Add(time.Minute); !strings.Contains(get("/metrics"), "taillamp_sittings 1.0"); <-time.After(20 * time.Millisecond) {
		require.True(t, time.Now().Before(end), "%s", s.said)
	}
	require.Equal(t, "ready\n", get("/ready"))
	text := get("/metrics")
	require.True(t, strings.HasSuffix(text, "# EOF\n"))
	families := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?m)^# TYPE (\S+) `).FindAllStringSubmatch(text, -1) {
		require.False(t, families[m[1]], m[1])
		families[m[1]] = true
	}
	for _, name := range []string{"taillamp_entries", "taillamp_append_seconds", "taillamp_ring_seconds", "taillamp_news_seconds", "taillamp_wires", "taillamp_ready", "taillamp_processes", "process_resident_memory_bytes"} {
		require.True(t, families[name], name)
	}
	require.NotRegexp(t, `[A-Z0-9]{5}-[A-Z0-9]{5}-[A-Z0-9]{5}`, text, "no key")
	s.end()
}

// A club sees its own kept evenings in the bookcase and takes away no other's.
func TestFleetShelfIsOneClubs(t *testing.T) {
	for name, club := range map[string]string{"tiny-2026-03-14": "tiny", "tiny-2026-03-22-2": "tiny", "our-line-2-2026-12-01": "our-line-2", "evening": "evening"} {
		require.Equal(t, club, clubOf(name))
	}
	engine, dir := anEngine(t), t.TempDir()
	for _, name := range []string{"tiny-2026-03-14", "tiny-2026-03-15", "tinybridge-2026-03-14"} {
		anEvening(t, dir, name, true)
	}
	carry(t, exitGood, dir, engine)
	e, err := fleet.Connect(engine)
	require.NoError(t, err)
	defer e.Close()
	s := shelf{fleet.NewKeeper(e), "tiny"}
	names, err := s.Names(t.Context())
	require.NoError(t, err)
	require.Equal(t, []string{"tiny-2026-03-14", "tiny-2026-03-15"}, names)
	_, err = s.Look(t.Context(), "tiny-2026-03-14")
	require.NoError(t, err)
	_, entries, err := s.Read(t.Context(), "tiny-2026-03-14")
	require.NoError(t, err)
	read := 0
	for _, err := range entries {
		require.NoError(t, err)
		read++
	}
	require.Greater(t, read, 20)
	_, err = s.Look(t.Context(), "tinybridge-2026-03-14")
	require.ErrorIs(t, err, sitting.ErrNoSitting)
	_, _, err = s.Read(t.Context(), "tinybridge-2026-03-14")
	require.ErrorIs(t, err, sitting.ErrNoSitting)
}

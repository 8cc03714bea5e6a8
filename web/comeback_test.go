package web_test

import (
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// program is the real one, running as a process of its own.
type program struct {
	t           *testing.T
	binary, dir string
	port        int
	running     *exec.Cmd
}

// build makes the program and finds it a folder and a free port.
func build(t *testing.T) *program {
	t.Helper()
	p := &program{t: t, binary: filepath.Join(t.TempDir(), "taillamp"), dir: t.TempDir()}
	out, err := exec.Command("go", "build", "-o", p.binary, "taillamp/cmd/taillamp").CombinedOutput()
	require.NoError(t, err, "%s", out)
	free, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	p.port = free.Addr().(*net.TCPAddr).Port
	require.NoError(t, free.Close())
	t.Cleanup(p.kill)
	return p
}

// start starts it, with more to its command line if given, and waits until it answers. What it prints is in said.
func (p *program) start(more ...string) {
	p.t.Helper()
	p.running = exec.Command(p.binary, append([]string{"serve", "--listen", fmt.Sprintf("127.0.0.1:%d", p.port), "--dir", p.dir}, more...)...)
	said, err := os.Create(p.said())
	require.NoError(p.t, err)
	defer said.Close() // the program has its own
	p.running.Stdout = said
	require.NoError(p.t, p.running.Start())
	for end := time.Now().Add(patience); ; pause(20 * time.Millisecond) {
		r, err := http.Get(fmt.Sprintf("http://127.0.0.1:%d/ok", p.port))
		if err == nil {
			r.Body.Close()
			return
		}
		require.True(p.t, time.Now().Before(end), "the program does not answer: %v", err)
	}
}

// said is the file of what it prints.
func (p *program) said() string { return filepath.Join(filepath.Dir(p.binary), "said") }

// kill ends it as a power cut would: SIGKILL.
func (p *program) kill() {
	if p.running == nil {
		return
	}
	_ = p.running.Process.Kill() // it may have gone by itself; Wait tells
	_ = p.running.Wait()
	p.running = nil
}

// present is what a signaller sees of the state: needles, what was heard, the open lines.
func (p *tab) present() string {
	p.t.Helper()
	return eval[string](p, `Array.from(document.querySelectorAll(".word, .heard, .sent, tl-book tbody tr")).map((e) => e.textContent).join("|")`)
}

// B4 after a power cut (story C10's beginning): the program is killed with a train in the section and started again in
// the same folder; both tablets come back by themselves with the same state, and the train is worked to its end.
func TestTabletsComeBackAfterAKill(t *testing.T) {
	b := browser(t)
	p := build(t)
	p.start()
	at := fmt.Sprintf("http://%s:%d", shed, p.port)
	ul := tablet(t, b, "Ullathwick", at, 1024, 768)
	os := tablet(t, b, "Ossenwaite", at, 1024, 768)
	ul.takeDuty("UL")
	os.takeDuty("OS")
	accept(ul, os, "3-1")
	ul.ring(os, pair, "2")
	os.ring(ul, pair, "2")
	os.turn(down, "occupied")
	os.shows(down, "occupied")
	ul.shows(down, "occupied")
	before := []string{ul.present(), os.present()}

	p.kill()
	for _, tab := range []*tab{ul, os} {
		tab.until(`!document.querySelector(".strip.away").hidden`)
	}
	p.start()
	for _, tab := range []*tab{ul, os} {
		tab.until(`document.querySelector(".strip.away").hidden && taillampShelf.wire.ready`)
	}
	require.Equal(t, before, []string{ul.present(), os.present()}, "the state is as it was")

	clear(ul, os)
	there, here := os.booked(), ul.booked()
	require.NotEmpty(t, there["out_of_section_sent"])
	require.Equal(t, there["out_of_section_sent"], here["out_of_section_received"])
	require.Equal(t, there["offered_from_rear"], here["offered_ahead"])
}

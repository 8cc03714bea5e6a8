//go:build fleet && linux

package web_test

import (
	"fmt"
	"net/http"
	osfile "os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"taillamp/block"
	"taillamp/web/sitting"
	"taillamp/web/sitting/fleet"
)

// What it takes to start a program and what it holds then: the plain one, the one with what several machines share in it
// and not used, and any others that TAILLAMP_PROGRAMS names, with commas between. They take turns in one run, ten starts
// each, in a new folder every time; the medians are printed. What is asked for is that each answers.
func TestFleetStartUp(t *testing.T) {
	dir := t.TempDir()
	programs := []string{filepath.Join(dir, "plain"), filepath.Join(dir, "fleet")}
	for i, tags := range []string{"", "fleet"} {
		out, err := exec.Command("go", "build", "-tags", tags, "-o", programs[i], "taillamp/cmd/taillamp").CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	if more := osfile.Getenv("TAILLAMP_PROGRAMS"); more != "" {
		programs = append(programs, strings.Split(more, ",")...)
	}
	const starts = 10
	took, held := make([][]time.Duration, len(programs)), make([][]int, len(programs))
	for range starts {
		for i, program := range programs {
			d, kB := startOnce(t, program)
			took[i], held[i] = append(took[i], d), append(held[i], kB)
		}
	}
	for i, program := range programs {
		slices.Sort(took[i])
		slices.Sort(held[i])
		info, err := osfile.Stat(program)
		require.NoError(t, err)
		t.Logf("%s: %.1f MB on the disk; first answer after %d ms (%d to %d), then %.1f MB resident", filepath.Base(program), float64(info.Size())/1e6,
			took[i][starts/2].Milliseconds(), took[i][0].Milliseconds(), took[i][starts-1].Milliseconds(), float64(held[i][starts/2])/1e3)
	}
}

// startOnce starts a program, waits for its first answer and asks what it holds, in kB.
func startOnce(t *testing.T, program string) (time.Duration, int) {
	t.Helper()
	at := freeAddress(t)
	cmd := exec.Command(program, "serve", "--listen", at, "--dir", t.TempDir())
	cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	began := time.Now()
	require.NoError(t, cmd.Start())
	defer func() {
		_ = cmd.Process.Kill() // Wait tells
		_ = cmd.Wait()
	}()
	for {
		r, err := http.Get("http://" + at + "/ok")
		if err == nil {
			_ = r.Body.Close() // only the answer counts
			break
		}
		require.Less(t, time.Since(began), fleetWait, "%s does not answer", program)
		pause(time.Millisecond)
	}
	took := time.Since(began)
	status, err := osfile.ReadFile(fmt.Sprintf("/proc/%d/status", cmd.Process.Pid))
	require.NoError(t, err)
	m := regexp.MustCompile(`VmRSS:\s+(\d+) kB`).FindSubmatch(status)
	require.NotNil(t, m)
	kB, err := strconv.Atoi(string(m[1]))
	require.NoError(t, err)
	return took, kB
}

// What one process of a fleet holds for every sitting of the demo's district that it works, and how long it takes to go
// on with all of them at once, as when another has died: 20, or as many as TAILLAMP_FLEET says.
func TestFleetHolds(t *testing.T) {
	c := newCluster(t, 1)
	p := c.launch()
	resident := func() float64 {
		bytes, err := strconv.ParseFloat(c.counted(p, "process_resident_memory_bytes"), 64)
		require.NoError(t, err)
		return bytes
	}
	before := resident()
	sittings := inFleet(20)
	h, err := block.EmbeddedHeader("lathermoor")
	require.NoError(t, err)
	host := sitting.NewHost(c.keeper, sitting.NewRealClock(), "taillamp test").Under(c.directory)
	for n := range sittings {
		live, err := host.Open(t.Context(), loadName(n), h)
		require.NoError(t, err)
		require.NoError(t, live.Close(t.Context()))
	}
	began := time.Now()
	for n := range sittings {
		require.NoError(t, c.directory.Announce(t.Context(), loadName(n), fleet.Evening{Owner: sitting.NewKey()}))
	}
	for n := range sittings {
		c.until("it is worked", func() bool { return c.leads(p, loadName(n)) })
	}
	t.Logf("%d sittings of five boxes taken in %.1fs; %.0f kB resident for each", sittings, time.Since(began).Seconds(), (resident()-before)/1e3/float64(sittings))
}

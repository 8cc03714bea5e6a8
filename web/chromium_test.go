package web_test

import (
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// browserNames are the programs that a headless Chromium may be installed as.
func browserNames() []string {
	return []string{"chromium-headless-shell", "chromium", "chromium-browser", "google-chrome"}
}

// chromium finds the browser. A machine without one skips the test; with TAILLAMP_BROWSER=must it fails instead.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range browserNames() {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("TAILLAMP_BROWSER") == "must" {
		t.Fatal("no Chromium is installed, and TAILLAMP_BROWSER says that there must be one")
	}
	t.Skip("no Chromium is installed")
	return ""
}

// shed is the name under which the browser finds the program: unlike 127.0.0.1 it is no secure context, as on a LAN.
const shed = "shed.test"

// browser starts one browser that can reach this machine and nothing else (Q7), and that keeps silent until a press.
func browser(t *testing.T) context.Context {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(chromium(t)), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("host-resolver-rules", "MAP "+shed+" 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost"),
		chromedp.Flag("autoplay-policy", "document-user-activation-required"))
	alloc, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	first, done := chromedp.NewContext(alloc)
	t.Cleanup(done)
	require.NoError(t, chromedp.Do(first, chromedp.Navigate("about:blank")))
	return first
}

// besides starts a browser for a test that may run beside others: most of its time goes by in waiting for a hand.
// It comes first: until the tests that run alone are over it waits, and a sitting opened before it would be a quarter of an hour old.
func besides(t *testing.T) context.Context {
	t.Helper()
	t.Parallel()
	return browser(t)
}

// patience is how long a test waits for something on a page before it gives up. It is no measure of speed.
const patience = 20 * time.Second

package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"syscall"
	"time"

	"taillamp/web"
	"taillamp/web/sitting"
	"taillamp/web/syllabus"
)

// usualPort is where tablets look unless --listen says otherwise.
const usualPort = ":5550"

// goodbye is how long the tablets have to be told that the program stops.
const goodbye = 2500 * time.Millisecond

// safety is said at every start of a sitting.
const safety = "For hobby and training only. It must never be the only protection of anything, above all not of a line that\n" +
	"carries passengers. Local rules and licensed practice come first."

// runServe works a sitting until it is interrupted.
func runServe(ctx context.Context, args []string, std stdio) int {
	fs := newFlags("serve")
	listen := fs.String("listen", usualPort, "")
	c := choice{}
	fs.StringVar(&c.dir, "dir", "", "")
	fs.StringVar(&c.layout, "layout", "", "")
	fs.BoolVar(&c.fresh, "fresh", false, "")
	ringing := fs.String("speaker", "", "")
	var wired fittings
	fs.StringVar(&wired.at, "instruments", "", "")
	fs.StringVar(&wired.detectors, "detectors", "none", "")
	name := called{}
	fs.StringVar(&name.name, "announce", "", "")
	home := fromHome{}
	fs.StringVar(&home.cert, "cert", "", "")
	fs.StringVar(&home.key, "key", "", "")
	fs.StringVar(&home.boxKeys, "box-keys", "", "")
	people := fs.String("people", "", "")
	played := fs.String("plays", "", "")
	faults := fs.Bool("faults", false, "")
	seed := fs.Uint64("seed", 1, "")
	shared := sharing{}
	shared.flags(fs)
	if _, err := parse(fs, args, 0, 0); err != nil {
		return complain(std, err)
	}
	if err := shared.check(fs); err != nil {
		return complain(std, err)
	}
	if err := name.check(); err != nil {
		return complain(std, err)
	}
	door, err := listenAt(ctx, *listen)
	if err != nil {
		return complain(std, err)
	}
	defer door.Close()
	if door, err = home.wrap(door); err != nil {
		return complain(std, err)
	}
	log := slog.New(slog.NewTextHandler(std.Err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	if shared.engine != "" {
		if err := shared.serve(ctx, c, door, home, log, std); err != nil {
			return complain(std, err)
		}
		return exitGood
	}
	if err := wired.open(ctx); err != nil {
		return complain(std, err)
	}
	defer wired.Close()
	bells, err := openWall(*ringing, std, openSpeaker)
	if err != nil {
		return complain(std, err)
	}
	defer bells.Close()
	e, err := c.open(ctx, std)
	if err != nil {
		return complain(std, err)
	}
	if err := e.employ(ctx, *people, *played, *faults, *seed); err != nil {
		return complain(std, errors.Join(err, e.host.Close(ctx)))
	}
	if err := bells.hang(ctx, e.live); err != nil {
		return complain(std, errors.Join(err, e.host.Close(ctx)))
	}
	if err := home.readKeys(e.live.Rules().Layout()); err != nil {
		return complain(std, errors.Join(err, e.host.Close(ctx)))
	}
	e.home = home
	if err := wired.connect(ctx, e, log); err != nil {
		return complain(std, errors.Join(err, e.host.Close(ctx)))
	}
	e.wired = wired
	e.owner = sitting.NewKey()
	defer name.Close()
	if err := name.hang(door.Addr().(*net.TCPAddr)); err != nil {
		fmt.Fprintf(std.Err, "taillamp: this network does not carry the name %s.local: %s; the addresses are good all the same\n", name.name, lastWords(err))
	} else {
		e.name = name.name
	}
	if err := e.announce(std.Out, door.Addr().(*net.TCPAddr)); err != nil {
		return complain(std, errors.Join(err, e.host.Close(ctx)))
	}
	if err := e.serve(ctx, door, log, std); err != nil {
		return complain(std, err)
	}
	fmt.Fprintf(std.Out, "\nStopped. taillamp goes on with %s the next time.\n", e.live.Name())
	return exitGood
}

// listenAt takes the port that tablets open, before anything is written anywhere.
func listenAt(ctx context.Context, at string) (net.Listener, error) {
	return listenFor(ctx, "--listen", at)
}

// listenFor takes the port that a flag asks for.
func listenFor(ctx context.Context, flag, at string) (net.Listener, error) {
	door, err := (&net.ListenConfig{}).Listen(ctx, "tcp", at)
	switch {
	case err == nil:
		return door, nil
	case errors.Is(err, syscall.EADDRINUSE):
		return nil, could(flag+" :0 takes a free one", "another program listens at %s already", at)
	case errors.Is(err, syscall.EACCES):
		return nil, could(flag+" :0 takes a free one", "this user may not listen at %s", at)
	}
	var wrong *net.AddrError
	if errors.As(err, &wrong) {
		return nil, misuse("write "+flag+" :5550 or "+flag+" 192.168.1.20:5550", "serve: %s cannot be %q", flag, at)
	}
	return nil, could("write "+flag+" :5550 for every network card", "nothing can listen at %s: %s", at, lastWords(err))
}

// lastWords is what the machine says at the bottom of a network error.
func lastWords(err error) string {
	for {
		below := errors.Unwrap(err)
		if below == nil {
			return err.Error()
		}
		err = below
	}
}

// announce tells how to join and where the sitting is kept.
func (e *worked) announce(out io.Writer, at *net.TCPAddr) error {
	all, err := addresses(e.home.scheme(), at)
	if err != nil {
		return err
	}
	w := &errWriter{w: out}
	fmt.Fprintf(w, "%s: %s, sitting %s %s\n\n", e.live.Program(), e.title(), e.live.Name(), e.how)
	if len(all) == 0 {
		fmt.Fprint(w, "  no network card is up: nobody can join\n\n")
	}
	for i, a := range all {
		head := "open"
		if i > 0 {
			head = "or"
		}
		fmt.Fprintf(w, "  %-8s %-34s %s\n", head, a.url, a.by)
	}
	word := joinWord(e.live.Name())
	if e.name != "" {
		fmt.Fprintf(w, "  %-8s %-34s %s\n", "or", fmt.Sprintf("%s://%s.local:%d/", e.home.scheme(), e.name, at.Port), "where the network carries names")
	}
	if len(all) > 0 {
		fmt.Fprintf(w, "  %-8s %s\n  %-8s\n", "or type", all[0].url+word, "or scan")
		code, err := drawQR(all[0].url, isTerminal(out))
		if err != nil {
			return err
		}
		for _, l := range code {
			fmt.Fprintln(w, "    "+l)
		}
	}
	fmt.Fprintf(w, "  %-8s %s\n", "kept in", e.file)
	if e.people != "" {
		fmt.Fprintf(w, "  %-8s %s; simulated signallers work the other boxes, and trains run by themselves\n", "people", e.people)
	}
	e.wired.announce(w)
	e.home.announce(w)
	if len(all) > 0 {
		fmt.Fprintf(w, "  %-8s %sowner#%s\n", "owner", all[0].url, e.owner)
	}
	fmt.Fprintf(w, "  %-8s Ctrl-C; the sitting goes on at the next start, --fresh begins another\n\n%s\n", "stop by", safety)
	return w.err
}

func (e *worked) title() string { return e.live.Rules().Layout().Title }

// serve answers the tablets until ctx ends, then tells them goodbye.
func (e *worked) serve(ctx context.Context, door net.Listener, log *slog.Logger, std stdio) error {
	server := &http.Server{
		Handler:           e.counts.door(web.New(web.Config{Live: e.live, Kept: e.kept, Sheets: e.sheets, Word: joinWord(e.live.Name()), Keys: e.home.keys, Owner: e.owner, Program: program(), Log: log, Carried: e.counts.carried()})),
		ReadHeaderTimeout: 5 * time.Second,
		ReadTimeout:       20 * time.Second, // of a form: the wire has its own
		MaxHeaderBytes:    16 << 10,
		IdleTimeout:       2 * time.Minute,
		ErrorLog:          slog.NewLogLogger(log.Handler(), slog.LevelWarn),
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(door) }()
	failed := e.wait(ctx, ended, std)
	leave, done := context.WithTimeout(context.WithoutCancel(ctx), goodbye)
	defer done()
	stopped := e.host.Close(leave) // first, so that every tablet hears from the sitting itself that it stops
	if err := server.Shutdown(leave); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		failed = errors.Join(failed, err)
	}
	if failed != nil {
		return failed
	}
	if stopped != nil {
		return could("", "the sitting could not be closed tidily: %s; what was told to a box is in the record", lastWords(stopped))
	}
	return nil
}

// wait waits until ctx ends, or the pages can no longer be served. A sitting that stops meanwhile is said at once; the
// pages go on, because people will want to read the books.
func (e *worked) wait(ctx context.Context, pages <-chan error, std stdio) error {
	var failed error
	stopped := e.live.Done()
	for {
		select {
		case <-ctx.Done():
			return failed
		case err := <-pages:
			return errors.Join(failed, could("", "the pages can no longer be served: %s", lastWords(err)))
		case <-stopped:
			stopped = nil
			failed = could("", "nothing more is recorded: %s", lastWords(e.live.Trouble()))
			fmt.Fprintf(std.Err, "taillamp: %s\nhint: Ctrl-C, put it right and start again; the books can still be read\n", failed)
		}
	}
}

// worked is the sitting in hand.
type worked struct {
	host   *sitting.Host
	counts measures
	live   *sitting.Live
	kept   *sitting.Files
	sheets *syllabus.Sheets // of learners; nil: the folder cannot be read
	how    string           // "begins", "goes on"
	file   string

	owner  string // the owner's key of this start
	name   string // by which this network finds the program, without .local; empty: none
	wired  fittings
	home   fromHome
	people string // the boxes that people work, where simulated signallers work the rest; empty: nobody is simulated
}

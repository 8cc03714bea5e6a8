//go:build fleet

package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"iter"
	"log/slog"
	"maps"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"time"

	"taillamp/block"
	"taillamp/web"
	"taillamp/web/sitting"
	"taillamp/web/sitting/fleet"
)

// fleetBuilt tells whether several machines can share this program's sittings.
const fleetBuilt = true

// engineWithin is how long a fleet's engine may take until it keeps anything: a cluster waits for most of its nodes.
const engineWithin = 2 * time.Minute

// member is this process as one of a fleet.
type member struct {
	std       stdio
	url       string // under which this process is reached
	engine    *fleet.Engine
	keeper    *fleet.Keeper
	directory *fleet.Directory
	control   *fleet.Control
	measures  measures
	said      sync.Mutex
}

// serve works what falls to this process until ctx ends.
func (s *sharing) serve(ctx context.Context, c choice, door net.Listener, home fromHome, log *slog.Logger, std stdio) error {
	engine, err := s.open(ctx, c.dir, std)
	if err != nil {
		return err
	}
	defer engine.Close()
	all, err := addresses(home.scheme(), door.Addr().(*net.TCPAddr))
	if err != nil {
		return err
	}
	m := &member{std: std, engine: engine, keeper: fleet.NewKeeper(engine), measures: newMeasures()}
	if len(all) > 0 {
		m.url = all[0].url
	}
	within, done := context.WithTimeout(ctx, engineWithin)
	defer done()
	if m.directory, err = fleet.Join(within, engine, processName()); err != nil {
		return could("", "this process cannot join the others: %s", lastWords(err))
	}
	m.control = &fleet.Control{Keeper: m.measures.keeper(m.keeper), Directory: m.directory, Clock: sitting.NewRealClock(), Program: program(), Log: log,
		Took: m.took, Pages: func(l *sitting.Live, e fleet.Evening) http.Handler {
			return m.measures.pages(web.New(web.Config{Live: l, Kept: shelf{m.keeper, clubOf(l.Name())}, Owner: e.Owner, Program: program(), Log: log, Carried: m.measures.carried()}))
		}}
	m.announce(std, all)
	return m.work(ctx, c, door, log)
}

// open starts or reaches the engine, and waits until it keeps something.
func (s *sharing) open(ctx context.Context, dir string, std stdio) (*fleet.Engine, error) {
	connect := func() (*fleet.Engine, error) { return fleet.Connect(s.engine) }
	if s.engine == "embedded" {
		n, err := s.node(dir)
		if err != nil {
			return nil, err
		}
		connect = n.Connect
	}
	e, err := connect()
	if err == nil {
		if s.peers != "" {
			fmt.Fprintln(std.Out, "waiting for most of the nodes …")
		}
		within, done := context.WithTimeout(ctx, engineWithin)
		defer done()
		if err = e.Ready(within); err != nil {
			e.Close()
		}
	}
	if err != nil {
		return nil, could("--fleet names an engine that answers, or embedded; --peers names every node, this one's own address first",
			"the engine at %s cannot be used: %s", withoutSecrets(s.engine), lastWords(err))
	}
	return e, nil
}

// withoutSecrets are addresses of an engine as they may be shown.
func withoutSecrets(addresses string) string {
	var all []string
	for a := range strings.SplitSeq(addresses, ",") {
		if u, err := url.Parse(a); err == nil {
			a = u.Redacted()
		}
		all = append(all, a)
	}
	return strings.Join(all, ",")
}

// node is that of an engine of the program's own.
func (s *sharing) node(dir string) (fleet.Node, error) {
	if dir == "" {
		var err error
		if dir, err = sittingsFolder(); err != nil {
			return fleet.Node{}, err
		}
	}
	n := fleet.Node{Dir: filepath.Join(dir, "engine"), Listen: s.listen}
	if s.peers != "" {
		n.Peers = strings.Split(s.peers, ",")
	}
	if s.key == "" {
		return n, nil
	}
	text, err := os.ReadFile(s.key)
	if err != nil {
		return n, could("", "the secret of the nodes cannot be read from %s: %s", s.key, reason(err))
	}
	if n.Secret = strings.TrimSpace(string(text)); n.Secret == "" {
		return n, fault{code: exitMaterial, what: s.key + " is empty: it must hold the secret that the nodes have in common"}
	}
	return n, nil
}

// processName is unlike any other process's.
func processName() string {
	host, err := os.Hostname()
	if err != nil {
		host = "machine"
	}
	return slug(host) + "-" + strings.ToLower(rand.Text()[:8])
}

func (m *member) announce(std stdio, all []address) {
	fmt.Fprintf(std.Out, "%s: process %s, with %d others\n\n", program(), m.directory.Me(), len(m.directory.Living())-1)
	for i, a := range all {
		head := "open"
		if i > 0 {
			head = "or"
		}
		fmt.Fprintf(std.Out, "  %-8s %-34s %s\n", head, a.url, a.by)
	}
	fmt.Fprintf(std.Out, "  %-8s Ctrl-C; another process goes on with what this one has\n\n%s\n", "stop by", safety)
}

// took tells the owner of the process what it works from now on, or could not take.
func (m *member) took(name string, e fleet.Evening, err error) {
	m.said.Lock()
	defer m.said.Unlock()
	if err != nil {
		fmt.Fprintf(m.std.Err, "taillamp: %s cannot go on here: %s\n", name, lastWords(err))
		return
	}
	fmt.Fprintf(m.std.Out, "works %s, owner %ss/%s/?to=owner#%s\n", name, m.url, name, e.Owner)
}

// work answers tablets and takes sittings until ctx ends, then hands them over and goes.
func (m *member) work(ctx context.Context, c choice, door net.Listener, log *slog.Logger) error {
	post := fleet.NewPost(m.engine)
	carried, err := post.Listen(m.directory.Me())
	if err != nil {
		return could("", "this process cannot be reached by the others: %s", lastWords(err))
	}
	front := fleet.NewFront(m.control, post, web.NewList(m.evenings, log))
	m.measures.Of(m.control, front)
	outer, inner := newServer(m.front(front), log), newServer(front.Here(), log)
	failed := make(chan error, 2)
	go func() { failed <- outer.Serve(door) }()
	go func() { failed <- inner.Serve(carried) }()
	working, stop := context.WithCancel(ctx)
	defer stop()
	var under sync.WaitGroup
	under.Go(func() { m.control.Work(working) })
	leaving, left := context.WithCancel(context.WithoutCancel(ctx))
	defer left()
	go front.BreakOff(leaving)
	if c.layout != "" {
		err = m.begin(ctx, c)
	}
	if err == nil {
		select {
		case <-ctx.Done():
		case err = <-failed:
			err = could("", "the pages can no longer be served: %s", lastWords(err))
		}
	}
	stop()
	under.Wait() // every sitting has been handed over
	if ctx.Err() != nil {
		time.Sleep(lingers)
	}
	last, done := context.WithTimeout(context.WithoutCancel(ctx), goodbye)
	defer done()
	err = errors.Join(err, m.directory.Leave(last))
	_ = outer.Shutdown(last) // wires that others carry on end with the process
	_ = inner.Shutdown(last)
	return err
}

// lingers is how long a process that has handed everything over still leads tablets on, until whoever spreads them has
// noticed that it is no longer ready.
const lingers = 2 * time.Second

// newServer serves pages as `taillamp serve` does.
func newServer(h http.Handler, log *slog.Logger) *http.Server {
	return &http.Server{Handler: h, ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 20 * time.Second, MaxHeaderBytes: 16 << 10,
		IdleTimeout: 2 * time.Minute, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelWarn)}
}

// front adds what whoever watches over the machines asks for.
func (m *member) front(f *fleet.Front) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("/", f)
	mux.Handle("GET /metrics", m.measures)
	mux.HandleFunc("GET /ok", func(w http.ResponseWriter, _ *http.Request) { _, _ = w.Write([]byte("ok\n")) }) // who asked may be gone
	mux.HandleFunc("GET /ready", func(w http.ResponseWriter, _ *http.Request) {
		if err := m.control.Ready(); err != nil {
			http.Error(w, err.Error(), http.StatusServiceUnavailable)
			return
		}
		_, _ = w.Write([]byte("ready\n"))
	})
	return mux
}

// evenings are the sittings under way, for the list of them.
func (m *member) evenings() []web.Evening {
	var all []web.Evening
	for _, name := range slices.Sorted(maps.Keys(m.directory.Evenings())) {
		all = append(all, web.Evening{Name: name, Working: m.directory.Owner(name) != ""})
	}
	return all
}

// begin begins a sitting by a layout, unless one by it is under way. With --fresh that one is ended first.
func (m *member) begin(ctx context.Context, c choice) error {
	d, err := findDistrict(c.layout)
	if err != nil {
		return faultOf(c.layout, err)
	}
	for name := range m.directory.Evenings() {
		if clubOf(name) != slug(c.layout) {
			continue
		}
		if !c.fresh {
			return nil // it goes on, here or elsewhere
		}
		if err := m.end(ctx, name); err != nil {
			return err
		}
	}
	day := slug(c.layout) + "-" + time.Now().Format(time.DateOnly)
	for n := 1; ; n++ {
		name := day
		if n > 1 {
			name += fmt.Sprintf("-%d", n)
		}
		_, e, err := m.control.Begin(ctx, name, d.header)
		switch {
		case errors.Is(err, sitting.ErrExists), errors.Is(err, sitting.ErrInUse):
			continue
		case err != nil:
			return could("", "the sitting cannot be begun: %s", lastWords(err))
		}
		m.took(name, e, nil)
		return nil
	}
}

// end ends a sitting for good, if this process has it.
func (m *member) end(ctx context.Context, name string) error {
	for _, l := range m.control.Held() {
		if l.Name() == name {
			return l.End(ctx)
		}
	}
	return could("leave --fresh out, and it goes on", "%s is worked by another process and cannot be ended here", name)
}

// dated is how the name of a sitting ends.
var dated = regexp.MustCompile(`-\d{4}-\d\d-\d\d(-\d+)?$`)

// clubOf is what the sittings of one layout have in common: their name up to the day.
func clubOf(name string) string { return dated.ReplaceAllString(name, "") }

// shelf is the bookcase of one club: it shows nobody the evenings of another.
type shelf struct {
	all  *fleet.Keeper
	club string
}

func (s shelf) Names(ctx context.Context) ([]string, error) {
	names, err := s.all.Names(ctx)
	return slices.DeleteFunc(names, func(n string) bool { return clubOf(n) != s.club }), err
}

func (s shelf) Look(ctx context.Context, name string) (sitting.Glance, error) {
	if clubOf(name) != s.club {
		return sitting.Glance{}, sitting.ErrNoSitting
	}
	return s.all.Look(ctx, name)
}

func (s shelf) Read(ctx context.Context, name string) (block.Header, iter.Seq2[block.Entry, error], error) {
	if clubOf(name) != s.club {
		return block.Header{}, nil, sitting.ErrNoSitting
	}
	return s.all.Read(ctx, name)
}

// measures counts what the process does.
type measures struct{ *fleet.Metrics }

func newMeasures() measures { return measures{fleet.NewMetrics()} }

// door adds the figures to a sitting's pages.
func (m measures) door(h http.Handler) http.Handler {
	mux := http.NewServeMux()
	mux.Handle("/", m.Pages(h))
	mux.Handle("GET /metrics", m)
	return mux
}

func (m measures) carried() func(bool, time.Duration) { return m.Carried }

func (m measures) keeper(k sitting.Keeper) sitting.Keeper { return m.Keeper(k) }

func (m measures) pages(h http.Handler) http.Handler { return m.Pages(h) }

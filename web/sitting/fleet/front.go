//go:build fleet

package fleet

import (
	"context"
	"errors"
	"log/slog"
	"net"
	"net/http"
	"net/http/httputil"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"taillamp/web/sitting"
)

// A Front takes whatever tablet comes and has it answered where its sitting is: here, or at the process that has it.
type Front struct {
	control *Control
	list    http.Handler // where the sittings under way are listed
	carry   *httputil.ReverseProxy
	log     *slog.Logger

	mu      sync.Mutex
	carried map[*carriage]bool
	lines   atomic.Int64 // carried since the start
	warned  atomic.Int64 // when it was last written that another process did not answer, in seconds
}

// carriage is one request that another process answers.
type carriage struct {
	sitting, owner string
	end            context.CancelFunc
}

// NewFront answers by a control, and carries by a post what is not here.
func NewFront(c *Control, p sitting.Post, list http.Handler) *Front {
	f := &Front{control: c, list: list, log: c.Log, carried: make(map[*carriage]bool)}
	f.carry = &httputil.ReverseProxy{
		Rewrite: func(r *httputil.ProxyRequest) {
			r.Out.URL.Scheme, r.Out.URL.Host, r.Out.Host = "http", "sitting", r.In.Host // its own pages compare it with the page's origin
		},
		Transport: &http.Transport{
			DisableKeepAlives: true, // a line is opened for one request of one tablet
			DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
				to, _ := ctx.Value(destination{}).(towards)
				return p.Reach(ctx, to.process, to.from)
			},
			ResponseHeaderTimeout: answerOfPage,
		},
		FlushInterval: -1,
		ModifyResponse: func(r *http.Response) error {
			if to, ok := r.Request.Context().Value(destination{}).(towards); ok && to.tls {
				for i, c := range r.Header["Set-Cookie"] { // what carries the line knows of no TLS
					r.Header["Set-Cookie"][i] = c + "; Secure"
				}
			}
			return nil
		},
		ErrorHandler: func(w http.ResponseWriter, r *http.Request, err error) {
			if last := f.warned.Load(); !errors.Is(err, context.Canceled) && time.Now().Unix()-last >= warnEvery && f.warned.CompareAndSwap(last, time.Now().Unix()) {
				f.log.Warn("another process did not answer", "path", r.URL.Path, "err", err)
			}
			between(w)
		},
		ErrorLog: slog.NewLogLogger(c.Log.Handler(), slog.LevelDebug),
	}
	return f
}

// answerOfPage is how long the owner of a sitting may take for the first of a page.
const answerOfPage = 20 * time.Second

// warnEvery is how many seconds pass between two warnings: every tablet tries again and again.
const warnEvery = 10

type destination struct{}

type towards struct {
	process string
	from    net.Addr
	tls     bool
}

// memory is the cookie by which a browser's pages that name no sitting belong to the one that it was in last.
const memory = "sitting"

// ServeHTTP answers a tablet.
func (f *Front) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	name, named := f.sittingOf(r)
	if name == "" {
		f.nameless(w, r)
		return
	}
	if named && r.Method == http.MethodGet && rememberedOf(r) != name && !strings.HasSuffix(r.URL.Path, "/wire") {
		http.SetCookie(w, &http.Cookie{Name: memory, Value: name, Path: "/", HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteLaxMode})
	}
	if named && r.URL.Path == "/s/"+name+"/" {
		to := "/"
		if r.FormValue("to") == "owner" {
			to = "/owner" // the key behind the # goes along, and is not seen here
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	if h := f.control.here(name); h != nil {
		h.ServeHTTP(w, r)
		return
	}
	owner := f.control.Directory.Owner(name)
	if owner == "" || owner == f.control.Directory.me {
		between(w)
		return
	}
	f.elsewhere(w, r, name, owner)
}

// sittingOf is the sitting that a request concerns, by its path or by what the browser was in last.
func (f *Front) sittingOf(r *http.Request) (name string, named bool) {
	evenings := f.control.Directory.Evenings()
	if rest, is := strings.CutPrefix(r.URL.Path, "/s/"); is {
		name, _, _ = strings.Cut(rest, "/")
		if _, is := evenings[name]; is {
			return name, true
		}
	}
	if r.URL.Path == "/sittings" {
		return "", false
	}
	name = rememberedOf(r) // a lesson's bench stands where its sitting is
	if _, is := evenings[name]; is {
		return name, false
	}
	return "", false
}

func rememberedOf(r *http.Request) string {
	if c, err := r.Cookie(memory); err == nil {
		return c.Value
	}
	return ""
}

// nameless answers what concerns no sitting: the list, and what all pages are drawn with.
func (f *Front) nameless(w http.ResponseWriter, r *http.Request) {
	switch {
	case r.URL.Path == "/", r.URL.Path == "/sittings", strings.HasPrefix(r.URL.Path, "/static/"):
		f.list.ServeHTTP(w, r)
	case strings.HasPrefix(r.URL.Path, "/s/"):
		http.Error(w, "That sitting is not under way here. Those that are stand at /sittings", http.StatusNotFound)
	default:
		http.Redirect(w, r, "/sittings", http.StatusSeeOther)
	}
}

// between answers where a sitting has no owner for the moment. A tablet comes again by itself.
func between(w http.ResponseWriter) {
	w.Header().Set("Retry-After", "2")
	http.Error(w, "This sitting is on its way from one machine to another. Treat the bells as failed and try again in a moment.", http.StatusServiceUnavailable)
}

// elsewhere has a request answered by the process that has its sitting, and breaks off when that process has it no
// longer: the tablet comes again and is led to the new one.
func (f *Front) elsewhere(w http.ResponseWriter, r *http.Request, name, owner string) {
	ctx, end := context.WithCancel(r.Context())
	defer end()
	c := &carriage{name, owner, end}
	f.mu.Lock()
	f.carried[c] = true
	f.mu.Unlock()
	f.lines.Add(1)
	defer func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		delete(f.carried, c)
	}()
	to := towards{owner, sitting.Address(r.RemoteAddr), r.TLS != nil}
	f.carry.ServeHTTP(w, r.WithContext(context.WithValue(ctx, destination{}, to)))
}

// BreakOff ends what is carried to processes that have died or no longer have the sitting, as often as it must, until
// ctx ends.
func (f *Front) BreakOff(ctx context.Context) {
	t := time.NewTicker(lookEvery)
	defer t.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-t.C:
		}
		f.mu.Lock()
		for c := range f.carried {
			if f.control.Directory.Owner(c.sitting) != c.owner {
				c.end()
			}
		}
		f.mu.Unlock()
	}
}

// Carried is how many requests another process is answering, and how many have been since the start.
func (f *Front) Carried() (now int, since int64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	return len(f.carried), f.lines.Load()
}

// Here answers what other processes carry to this one: only sittings that it has, so that nothing goes round.
func (f *Front) Here() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name, _ := f.sittingOf(r)
		if h := f.control.here(name); h != nil {
			h.ServeHTTP(w, r)
			return
		}
		between(w)
	})
}

package sitting

import (
	"context"
	"slices"
	"sync"
	"time"

	"taillamp/block"
)

// behind is how many news a watcher may leave lying before he is cut off.
const behind = 256

// Watch is somebody following a sitting from one seat.
type Watch struct {
	// News brings the present first and then everything without a gap. It is closed when the watching has come to an
	// end; Why then says how.
	News <-chan *News

	news chan *News
	seat Seat
	live *Live
	have Position
	why  error
	left chan struct{} // closed by Close
	once sync.Once
}

// Why tells why News was closed. It may be asked only then.
func (w *Watch) Why() error { return w.why }

// Close ends the watching. It must be called, also when News was closed already: the watcher has then said what he
// had to say to his people. It may be called more than once.
func (w *Watch) Close() {
	_ = w.live.run(context.Background(), func() { w.live.cut(w, context.Canceled) }) // or the sitting has ended
	w.once.Do(func() { close(w.left) })
}

// Sync has the present told once more, in its place between the news. have is what the watcher has seen.
func (w *Watch) Sync(ctx context.Context, have Position) error {
	return w.live.run(ctx, func() {
		w.have = have
		w.live.send(w, &News{Present: w.live.present(w)})
		w.live.cutSlow()
	})
}

// Far tells the sitting that the watcher's tablet is on another network than the program. It concerns a seat at work: the
// others see it at the door.
func (w *Watch) Far(ctx context.Context) {
	_ = w.live.run(ctx, func() { // or the sitting has ended
		d := w.live.desk(w.seat.Box)
		if d == nil || w.seat.As != Work {
			return
		}
		d.far = true
		told := w.live.told()
		n := News{Position: told.at, At: w.live.now(), Door: w.live.staffing(told.state)}
		w.live.sendTo(n, func(o *Watch) bool { return w.live.desk(o.seat.Box) == nil && o.seat.As != Visiting })
	})
}

// Watch follows the sitting from a seat. The seat of a signaller at work has one watcher: a second closes the first
// with ErrTakenOver. A watcher that falls 256 behind is cut off with ErrSlow. have is the position that the watcher
// left off at, if he was here before.
func (l *Live) Watch(ctx context.Context, s Seat, have Position) (*Watch, error) {
	news := make(chan *News, behind) // by address: what lies in it by value is 68 kB for every tablet
	w := &Watch{News: news, news: news, seat: s, live: l, have: have, left: make(chan struct{})}
	var refused error
	err := l.run(ctx, func() { refused = l.admit(w) })
	if err == nil {
		err = refused
	}
	if err != nil {
		return nil, err
	}
	return w, nil
}

// admit lets a watcher in and gives him the present.
func (l *Live) admit(w *Watch) error {
	if l.failed != nil {
		return l.failed
	}
	d := l.desk(w.seat.Box)
	if d == nil && (w.seat.Box != "" || w.seat.As == Work || w.seat.As == Instructs) {
		return ErrWrongTicket
	}
	if w.seat.As == Work {
		if d.holder != w.seat.name() {
			return ErrWrongTicket
		}
		d.seen = true
		l.turnOut(d.id, "")
	}
	if w.seat.rings() {
		l.watches = slices.Insert(l.watches, 0, w)
	} else {
		l.watches = append(l.watches, w)
	}
	if d != nil {
		d.watched++
		if w.seat.As == Work {
			d.far = false
			back := !d.left.IsZero()
			d.at, d.left = 1, time.Time{}
			if back {
				l.tellAway(d, false)
			}
		}
		if d.watched == 1 { // nobody was told of changes meanwhile
			d.view = l.rules.View(l.told().state, d.id)
			d.notice = l.expected(d, l.now())
		}
	}
	l.send(w, &News{Present: l.present(w)})
	if w.seat.watches() {
		l.tellWatched(d)
	}
	return nil
}

// turnOut ends the watching from working seats of a box, that of the name given excepted: another tablet has it now.
func (l *Live) turnOut(box block.BoxID, but string) {
	for _, w := range slices.Clone(l.watches) {
		if w.seat.As == Work && w.seat.Box == box && w.seat.name() != but {
			l.cut(w, ErrTakenOver)
		}
	}
}

// present is the picture for a watcher as of now.
func (l *Live) present(w *Watch) *Present {
	now, told := l.now(), l.told()
	p := &Present{Position: told.at, At: now, Time: l.districtTime(now), Settings: l.rules.Layout().Settings}
	if g := l.seats[w.seat.name()]; g != nil && w.seat.As == Work {
		p.Acted = g.last
	}
	if d := l.desk(w.seat.Box); d != nil {
		v := l.rules.View(told.state, d.id)
		p.View, p.Book, p.Notice, p.Away = &v, d.book.Lines(), l.expected(d, now), l.away(d)
		if w.seat.confided() {
			p.Asks, p.Words = l.askerOf(d), &Words{slices.Clone(d.told)}
		}
		switch w.seat.As {
		case Work:
			if p.Watched = d.watchedBy; p.Watched == nil {
				p.Watched = new(Onlookers)
			}
		case Instructs:
			p.Shows = d.shows
		}
		p.Fitted, p.Phones = slices.Clone(d.fitted), l.phonesOf(d)
		p.Unknown = w.have.Epoch != "" && w.have.Epoch != l.epoch
		if w.have.Epoch == l.epoch {
			p.Missed = l.missed(d.id, w.have)
		}
		return p
	}
	p.Door = l.staffing(told.state)
	return p
}

// everybody goes through all who watch, those for whom bells ring first. Whoever turns out slow on the way is cut off at
// the end of it.
func (l *Live) everybody(tell func(*Watch)) {
	for _, w := range l.watches {
		tell(w)
	}
	l.cutSlow()
}

// send puts news before a watcher. One who leaves too much lying is to be cut off: he holds up nobody.
func (l *Live) send(w *Watch, n *News) {
	select {
	case w.news <- n:
	default:
		l.slow = append(l.slow, w)
	}
}

func (l *Live) cutSlow() {
	for len(l.slow) > 0 { // cutting one off is news to others
		w := l.slow[0]
		l.slow = l.slow[1:]
		l.cut(w, ErrSlow)
	}
}

// cut ends a watching.
func (l *Live) cut(w *Watch, why error) {
	at := slices.Index(l.watches, w)
	if at < 0 {
		return
	}
	l.watches = slices.Delete(l.watches, at, at+1)
	if d := l.desk(w.seat.Box); d != nil {
		d.watched--
		if w.seat.As == Work && d.holder == w.seat.name() {
			if d.at--; d.at == 0 {
				d.left = l.now()
				l.tellShows(d, &Shows{Marks: []string{"lost"}})
				l.tellAway(d, true)
			}
		}
		if w.seat.watches() {
			l.tellWatched(d)
		}
	}
	w.why = why
	close(w.news)
}

// tellAway tells the neighbours of a box that its tablet has gone off the wire, or is back: silence then is no refusal.
func (l *Live) tellAway(d *boxDesk, off bool) {
	if l.failed != nil {
		return
	}
	n := News{Position: l.said(), At: l.now(), Away: &Absent{d.id, off}}
	l.sendTo(n, func(w *Watch) bool { return slices.Contains(l.neighbours(d), w.seat.Box) })
}

// neighbours are the boxes that a desk's box has bells to.
func (l *Live) neighbours(d *boxDesk) []block.BoxID {
	var all []block.BoxID
	for _, other := range l.desks {
		if other == d {
			continue
		}
		for c := range other.hears { // order does not matter: one in common will do
			if d.hears[c] {
				all = append(all, other.id)
				break
			}
		}
	}
	return all
}

// away are the neighbours of a box whose tablets are off the wire.
func (l *Live) away(d *boxDesk) []block.BoxID {
	var all []block.BoxID
	for _, box := range l.neighbours(d) {
		if n := l.desk(box); n.holder != "" && n.at == 0 && !n.left.IsZero() {
			all = append(all, box)
		}
	}
	return all
}

// cutAll ends every watching.
func (l *Live) cutAll(why error) {
	for _, w := range slices.Clone(l.watches) {
		l.cut(w, why)
	}
}

package sim

import (
	"container/heap"
	"time"
)

// queue holds what is still to happen, in order of its time and then of its asking.
type queue struct {
	list []happening
	no   int
}

type happening struct {
	at  time.Time
	no  int
	of  kind
	run func()
}

// kind is what a happening is part of.
type kind uint8

// The kinds of happening.
const (
	work       kind = iota // people's, who keep their own time
	movement               // on the line, by the district's clock
	restOfCode             // the beats after the first: who has begun a code rings it to its end
)

func (q *queue) add(at time.Time, of kind, run func()) {
	q.no++
	heap.Push(q, happening{at, q.no, of, run})
}

// rest empties the queue and gives what was to come of the codes that are being rung, in order.
func (q *queue) rest() []happening {
	var rest []happening
	for h, ok := q.next(); ok; h, ok = q.next() {
		if h.of == restOfCode {
			rest = append(rest, h)
		}
	}
	return rest
}

// first is when the next thing is to happen.
func (q *queue) first() (time.Time, bool) {
	if len(q.list) == 0 {
		return time.Time{}, false
	}
	return q.list[0].at, true
}

func (q *queue) next() (happening, bool) {
	if len(q.list) == 0 {
		return happening{}, false
	}
	return heap.Pop(q).(happening), true
}

func (q *queue) Len() int { return len(q.list) }
func (q *queue) Less(i, j int) bool {
	a, b := &q.list[i], &q.list[j]
	return a.at.Before(b.at) || a.at.Equal(b.at) && a.no < b.no
}
func (q *queue) Swap(i, j int) { q.list[i], q.list[j] = q.list[j], q.list[i] }
func (q *queue) Push(x any)    { q.list = append(q.list, x.(happening)) }
func (q *queue) Pop() any {
	last := q.list[len(q.list)-1]
	q.list[len(q.list)-1] = happening{}
	q.list = q.list[:len(q.list)-1]
	return last
}

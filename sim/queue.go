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
	at   time.Time
	no   int
	line bool // it happens on the line, by the district's clock: people keep their own time
	run  func()
}

func (q *queue) add(at time.Time, line bool, run func()) {
	q.no++
	heap.Push(q, happening{at, q.no, line, run})
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

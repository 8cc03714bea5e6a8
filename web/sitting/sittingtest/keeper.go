package sittingtest

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"time"

	"taillamp/block"
	"taillamp/block/register"
	"taillamp/web/sitting"
)

var evening = time.Date(2026, 3, 14, 19, 30, 0, 0, time.UTC)

// remark is an entry that any record may have.
func remark(seq uint64, words string) block.Entry {
	return block.Entry{Seq: seq, Event: block.Event{Do: block.Remark, At: evening, By: "UL", Words: words},
		Outcome: block.Outcome{Ending: block.Done}}
}

// wordsIn are a record's entries in short.
func wordsIn(ctx context.Context, r sitting.Record, after uint64) string {
	var all []string
	for e, err := range r.Entries(ctx, after) {
		if err != nil {
			return err.Error()
		}
		all = append(all, fmt.Sprintf("%d %s%s", e.Seq, e.Event.Words, e.Mark))
	}
	return fmt.Sprint(all)
}

// Keeper tries an empty Keeper by the contract that stands at sitting.Keeper, point by point. The error tells every
// fault found.
func Keeper(ctx context.Context, k sitting.Keeper) error {
	j := &judge{}
	is := func(err, want error, what string) { j.want(errors.Is(err, want), "%s: %v, want %v", what, err, want) }
	h := block.Header{Format: register.Format, Program: "taillamp test", Sitting: "one", Began: evening, Layout: "…"}
	for _, bad := range []string{"", "a/b", "..", "a.b", "ä", "a b", strings.Repeat("a", 65)} {
		_, err := k.Begin(ctx, bad, h)
		is(err, sitting.ErrBadName, fmt.Sprintf("begin %q", bad))
	}
	_, err := k.Resume(ctx, "one")
	is(err, sitting.ErrNoSitting, "resume what is not there")
	_, err = k.Look(ctx, "one")
	is(err, sitting.ErrNoSitting, "look at what is not there")

	r, err := k.Begin(ctx, "one", h)
	if err != nil {
		return errors.Join(j.verdict(), err)
	}
	j.want(reflect.DeepEqual(r.Header(), h), "the header is %v, want %v", r.Header(), h)
	_, err = k.Begin(ctx, "one", h)
	is(err, sitting.ErrExists, "begin what is there")
	_, err = k.Resume(ctx, "one")
	is(err, sitting.ErrInUse, "resume what is open")
	is(r.Append(ctx, remark(1, "a"), remark(2, "b")), nil, "append two")
	is(r.Append(ctx, remark(3, "c")), nil, "append the third")
	j.want(r.Append(ctx, remark(5, "e")) != nil, "5 was appended and 4 left out")
	holds := func(r sitting.Record, after uint64, want string) {
		got := wordsIn(ctx, r, after)
		j.want(got == want, "the record has %s, want %s", got, want)
	}
	holds(r, 0, "[1 a 2 b 3 c]")
	holds(r, 2, "[3 c]")
	holds(r, 1, "[2 b 3 c]")
	is(r.Close(), nil, "close")
	is(r.Close(), nil, "close again")
	is(r.Append(ctx, remark(4, "d")), sitting.ErrLostRecord, "append to what is closed")
	holds(r, 0, "[1 a 2 b 3 c]") // closed, it can still be read

	r, err = k.Resume(ctx, "one")
	if err != nil {
		return errors.Join(j.verdict(), err)
	}
	j.want(r.Header().Layout == h.Layout, "the layout is %q, want %q", r.Header().Layout, h.Layout)
	j.want(r.Cut() == 0, "%d bytes were cut off", r.Cut())
	is(r.Append(ctx, remark(4, "d")), nil, "append the fourth")
	holds(r, 0, "[1 a 2 b 3 c 4 d]")
	g, err := k.Look(ctx, "one")
	j.want(err == nil && g.Began.Equal(evening) && !g.Over, "a look at one: %v, %v", g, err)
	is(r.Append(ctx, block.Entry{Seq: 5, Mark: block.Close, At: evening}), nil, "append the close mark")
	is(r.Close(), nil, "close")

	two, err := k.Begin(ctx, "another", h)
	if err != nil {
		return errors.Join(j.verdict(), err)
	}
	names, err := k.Names(ctx)
	j.want(err == nil && slices.Equal(names, []string{"another", "one"}), "the names are %v, %v", names, err)
	g, err = k.Look(ctx, "one")
	j.want(err == nil && g.Over, "a look at one that is over: %v, %v", g, err)
	is(two.Close(), nil, "close another")
	return j.verdict()
}

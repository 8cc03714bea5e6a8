package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"taillamp/block/register"
	"taillamp/web/sitting"
	"taillamp/web/syllabus"
)

// choice is which sitting is to be worked: by flags, all of which may be empty.
type choice struct {
	dir    string // folder of the sittings
	layout string // embedded name or file; empty: that of the unfinished sitting, else the demo's
	fresh  bool   // begin another although one is unfinished
}

// demo is the layout of a sitting for which none was named.
const demo = "lathermoor"

// open goes on with the unfinished sitting in the folder, or begins one.
func (c choice) open(ctx context.Context, std stdio) (*worked, error) {
	if c.dir == "" {
		dir, err := sittingsFolder()
		if err != nil {
			return nil, err
		}
		c.dir = dir
	}
	keeper, err := sitting.NewFiles(c.dir)
	if err != nil {
		return nil, could("name another folder with --dir", "sittings cannot be kept in %s: %s", c.dir, reason(err))
	}
	counts := newMeasures()
	host := sitting.NewHost(counts.keeper(keeper), sitting.NewRealClock(), program())
	kept, err := host.Kept(ctx)
	if err != nil { // the rest is good all the same
		for _, l := range strings.Split(err.Error(), "\n") {
			fmt.Fprintln(std.Err, "taillamp: passed over: "+l)
		}
	}
	unfinished, found := c.unfinished(kept)
	e := &worked{host: host, counts: counts}
	if found && !c.fresh {
		e.how = "goes on"
		e.live, err = c.resume(ctx, host, keeper, unfinished)
	} else {
		if found {
			finish(ctx, host, std, unfinished)
		}
		e.how = "begins"
		e.live, err = c.begin(ctx, host, kept)
	}
	if err != nil {
		return nil, err
	}
	e.file, e.kept = keeper.Path(e.live.Name()), keeper
	e.sheets, err = syllabus.Open(filepath.Join(c.dir, learnersFolder))
	if err != nil { // the rest is good all the same
		for _, l := range strings.Split(err.Error(), "\n") {
			fmt.Fprintln(std.Err, "taillamp: "+l)
		}
	}
	return e, nil
}

// unfinished is the newest sitting that was not ended, of the layout that was asked for if one was. kept has the
// newest first.
func (c choice) unfinished(kept []sitting.Glance) (string, bool) {
	for _, g := range kept {
		if !g.Over && (c.layout == "" || strings.HasPrefix(g.Name, slug(c.layout)+"-2")) {
			return g.Name, true
		}
	}
	return "", false
}

// resume goes on with a sitting. A layout that was changed since cannot change what is being worked.
func (c choice) resume(ctx context.Context, host *sitting.Host, keeper *sitting.Files, name string) (*sitting.Live, error) {
	const other = "--fresh begins another sitting and keeps this one"
	live, err := host.Resume(ctx, name)
	var damaged *register.DamagedError
	switch {
	case errors.As(err, &damaged):
		return nil, fault{code: exitMaterial, what: fmt.Sprintf("%s is damaged: %s; it is left as it is", keeper.Path(name), damaged), hint: other}
	case errors.Is(err, sitting.ErrInUse):
		return nil, could("work that one, or name another folder with --dir", "%s is being worked by another taillamp", keeper.Path(name))
	case err != nil:
		return nil, could(other, "%s cannot go on: %s", keeper.Path(name), lastWords(err))
	}
	var differs *register.DiffersError
	if errors.As(live.Trouble(), &differs) {
		return nil, errors.Join(fault{code: exitMaterial, hint: other,
			what: fmt.Sprintf("%s does not follow from the rules of this program: %s; it can be read by register and review", keeper.Path(name), differs)},
			host.Close(ctx))
	}
	if err := c.sameLayout(live); err != nil {
		return nil, errors.Join(err, host.Close(ctx))
	}
	return live, nil
}

// sameLayout refuses to go on by another text of the layout than the one that was asked for.
func (c choice) sameLayout(live *sitting.Live) error {
	if c.layout == "" {
		return nil
	}
	d, err := findDistrict(c.layout)
	if err != nil {
		return faultOf(c.layout, err)
	}
	if d.header.Layout != live.Header().Layout {
		return fault{code: exitMaterial, what: fmt.Sprintf("%s has been changed since sitting %s began by it", c.layout, live.Name()),
			hint: "--fresh begins another sitting by it; without --layout this one goes on as it began"}
	}
	return nil
}

// faultOf says that a layout has faults.
func faultOf(layout string, err error) error {
	var f fault
	if errors.As(err, &f) {
		return f
	}
	return fault{code: exitMaterial, what: layout + " cannot be used: it has faults", hint: "taillamp check " + layout + " lists them"}
}

// finish ends the sitting that would have gone on. One that cannot be opened stays as it is.
func finish(ctx context.Context, host *sitting.Host, std stdio, name string) {
	live, err := host.Resume(ctx, name)
	if err == nil {
		err = live.End(ctx)
	}
	if err != nil {
		fmt.Fprintf(std.Err, "taillamp: %s is left as it is: %s\n", name, lastWords(err))
	}
}

// begin begins a sitting, named by its layout and the day.
func (c choice) begin(ctx context.Context, host *sitting.Host, kept []sitting.Glance) (*sitting.Live, error) {
	layout := c.layout
	if layout == "" {
		layout = demo
	}
	d, err := findDistrict(layout)
	if err != nil {
		return nil, faultOf(layout, err)
	}
	day := slug(layout) + "-" + time.Now().Format(time.DateOnly)
	for n := 1; ; n++ {
		name := day
		if n > 1 {
			name += fmt.Sprintf("-%d", n)
		}
		if slices.ContainsFunc(kept, func(g sitting.Glance) bool { return g.Name == name }) {
			continue
		}
		live, err := host.Open(ctx, name, d.header)
		if errors.Is(err, sitting.ErrExists) { // one that could not be looked into has the name
			continue
		}
		if err != nil {
			return nil, could("name another folder with --dir", "the sitting cannot be begun: %s", lastWords(err))
		}
		return live, nil
	}
}

// slug is what a sitting is named by its layout: the name of an embedded one, of a file without folder and ending;
// letters, digits and hyphens only.
func slug(layout string) string {
	name := strings.TrimSuffix(filepath.Base(layout), filepath.Ext(layout))
	if name == "layout" { // the usual name of a file that has a folder of its own
		if whole, err := filepath.Abs(layout); err == nil {
			name = filepath.Base(filepath.Dir(whole))
		}
	}
	var b strings.Builder
	for _, r := range strings.ToLower(name) {
		switch {
		case r >= 'a' && r <= 'z' || r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0:
			b.WriteByte('-')
		}
	}
	if s := strings.Trim(b.String(), "-"); s != "" {
		return s[:min(len(s), longestSlug)]
	}
	return "sitting"
}

// longestSlug leaves room for the day and a number in a sitting's name of 64 letters.
const longestSlug = 48

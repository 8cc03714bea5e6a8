package syllabus

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"
)

// The bounds of what is kept, lest a visitor who means no good fill the disk.
const (
	mostSheets = 1000
	NameLimit  = 40 // letters of a learner's name
)

// What the folder may have besides sheets.
const (
	ending     = ".json"
	damaged    = ".damaged"
	unfinished = "new-"
)

// The errors of Sheets.
var (
	ErrNoSheet  = errors.New("syllabus: there is no such sheet")
	ErrFull     = errors.New("syllabus: so many sheets are kept that no other is begun")
	ErrLongName = fmt.Errorf("syllabus: a name has %d letters at most", NameLimit)
)

// ID is what a learner's sheet is filed under: what comes of his key, which itself is kept nowhere.
type ID string

// IDOf is that of a key, as plain letters.
func IDOf(key string) ID {
	sum := sha256.Sum256([]byte("sheet of " + key)) // a hash takes everything
	return ID(hex.EncodeToString(sum[:16]))
}

// valid tells whether it may be one: it names a file.
func (id ID) valid() bool {
	sum, err := hex.DecodeString(string(id))
	return err == nil && len(sum) == 16
}

// Sheets are those of all learners, each in a file of its own, so that one who wants to be forgotten is. They may be used
// by many at once.
type Sheets struct {
	dir string // empty: they are kept in memory only
	mu  sync.Mutex
	all map[ID]Sheet
}

// InMemory keeps sheets as long as the program runs.
func InMemory() *Sheets { return &Sheets{all: make(map[ID]Sheet)} }

// Open reads the sheets of a folder, which need not be there yet. A file that is no sheet is put aside under the name that
// the error tells, and the rest is good all the same: there are sheets unless the folder itself cannot be read.
func Open(dir string) (*Sheets, error) {
	k := &Sheets{dir: dir, all: make(map[ID]Sheet)}
	files, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return k, nil
	}
	if err != nil {
		return nil, fmt.Errorf("read the learners' sheets: %w", err)
	}
	var faults []error
	for _, f := range files {
		if strings.HasPrefix(f.Name(), unfinished) { // the program died over it: the old one is there still
			faults = append(faults, os.Remove(filepath.Join(dir, f.Name())))
		}
		id, ok := strings.CutSuffix(f.Name(), ending)
		if !ok || !f.Type().IsRegular() {
			continue
		}
		s, err := read(filepath.Join(dir, f.Name()))
		if err != nil {
			aside := asideName(dir, f.Name())
			faults = append(faults, fmt.Errorf("%s is no learner's sheet (%w) and was put aside as %s", filepath.Join(dir, f.Name()), err, aside),
				os.Rename(filepath.Join(dir, f.Name()), filepath.Join(dir, aside)))
			continue
		}
		k.all[ID(id)] = s
	}
	return k, errors.Join(faults...)
}

// asideName is one under which a damaged file lies in nobody's way, not even in that of another damaged before it.
func asideName(dir, name string) string {
	aside := name + damaged
	for n := 2; ; n++ {
		if _, err := os.Lstat(filepath.Join(dir, aside)); errors.Is(err, fs.ErrNotExist) {
			return aside
		}
		aside = fmt.Sprintf("%s%s-%d", name, damaged, n)
	}
}

func read(path string) (s Sheet, err error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return s, err
	}
	if err := json.Unmarshal(text, &s); err != nil {
		return s, err
	}
	if s.Since.IsZero() {
		return s, errors.New("it does not say since when it is kept")
	}
	return s, nil
}

// Of is the sheet of a learner. False: he has none.
func (k *Sheets) Of(id ID) (Sheet, bool) {
	k.mu.Lock()
	defer k.mu.Unlock()
	s, ok := k.all[id]
	return s, ok
}

// Begin notes that a learner begins a lesson; with his first he has a sheet. ErrFull: no other sheet is begun.
func (k *Sheets) Begin(id ID, lesson int, at time.Time) error {
	return k.change(id, func(s Sheet, has bool) (Sheet, error) {
		if !has {
			if len(k.all) >= mostSheets {
				return s, ErrFull
			}
			s.Since = at
		}
		return s.begins(lesson, at), nil
	})
}

// End notes how a try ended, once: the first word stands. ErrNoSheet: it is on no sheet, forgotten meanwhile perhaps.
func (k *Sheets) End(id ID, t Try) error {
	return k.change(id, func(s Sheet, has bool) (Sheet, error) {
		ended, ok := s.ends(t)
		if !has || !ok {
			return s, ErrNoSheet
		}
		return ended, nil
	})
}

// Name writes a learner's name on his sheet, or takes it away. ErrNoSheet, ErrLongName.
func (k *Sheets) Name(id ID, name string) error {
	return k.change(id, func(s Sheet, has bool) (Sheet, error) {
		if !has {
			return s, ErrNoSheet
		}
		if len([]rune(name)) > NameLimit {
			return s, ErrLongName
		}
		s.Name = name
		return s, nil
	})
}

// Forget takes a sheet away for good, and what of it was put aside. ErrNoSheet: there is none.
func (k *Sheets) Forget(id ID) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	if !id.valid() {
		return ErrNoSheet
	}
	_, has := k.all[id]
	if k.dir != "" {
		files, err := filepath.Glob(k.path(id) + "*") // those put aside too
		for _, f := range files {
			err = errors.Join(err, os.Remove(f))
		}
		if len(files) > 0 {
			err = errors.Join(err, k.sync())
		}
		if err != nil {
			return fmt.Errorf("forget a learner's sheet: %w", err)
		}
		has = has || len(files) > 0
	}
	delete(k.all, id)
	if !has {
		return ErrNoSheet
	}
	return nil
}

// Learner is one who has a sheet.
type Learner struct {
	ID ID
	Sheet
}

// All are those of all learners, who was last at it first.
func (k *Sheets) All() []Learner {
	k.mu.Lock()
	defer k.mu.Unlock()
	var all []Learner
	for _, id := range slices.Sorted(maps.Keys(k.all)) {
		all = append(all, Learner{id, k.all[id]})
	}
	slices.SortStableFunc(all, func(a, b Learner) int { return cmp.Or(b.last().Compare(a.last()), cmp.Compare(a.Name, b.Name)) })
	return all
}

// change writes a sheet anew. With an error all is as it was.
func (k *Sheets) change(id ID, to func(s Sheet, has bool) (Sheet, error)) error {
	k.mu.Lock()
	defer k.mu.Unlock()
	was, has := k.all[id]
	s, err := to(was, has)
	if err == nil && k.dir != "" {
		err = k.write(id, s)
	}
	if err == nil {
		k.all[id] = s
	}
	return err
}

func (k *Sheets) path(id ID) string { return filepath.Join(k.dir, string(id)+ending) }

// write puts a whole new file in the place of the old one, so that a power cut leaves one of the two.
func (k *Sheets) write(id ID, s Sheet) (err error) {
	defer func() {
		if err != nil {
			err = fmt.Errorf("keep a learner's sheet: %w", err)
		}
	}()
	text, err := json.MarshalIndent(s, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(k.dir, 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(k.dir, unfinished+"*")
	if err != nil {
		return err
	}
	_, err = f.Write(append(text, '\n'))
	if err = errors.Join(err, f.Sync(), f.Close()); err == nil {
		err = os.Rename(f.Name(), k.path(id))
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return k.sync()
}

// sync makes sure that the folder itself has what was put there or taken away, where the machine can be asked for that.
func (k *Sheets) sync() error {
	if runtime.GOOS == "windows" {
		return nil
	}
	dir, err := os.Open(k.dir)
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}

package sitting

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"

	"taillamp/block"
	"taillamp/block/register"
)

// Files keeps sittings in a folder, each as one file of lines. A file is locked while its sitting is worked; there is
// no second file beside it.
type Files struct{ dir string }

// NewFiles keeps sittings in a folder, which is made if it is not there.
func NewFiles(dir string) (*Files, error) {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return nil, fmt.Errorf("make the folder of sittings: %w", err)
	}
	return &Files{dir: dir}, nil
}

// ending is that of a sitting's file.
const ending = ".jsonl"

// Path is the file that a sitting is kept in.
func (k *Files) Path(name string) string { return filepath.Join(k.dir, name+ending) }

// Begin makes the file, with its header, and makes sure that both file and folder have it.
func (k *Files) Begin(_ context.Context, name string, h block.Header) (Record, error) {
	if err := CheckName(name); err != nil {
		return nil, err
	}
	text, sum, err := register.AppendHeader(nil, h)
	if err != nil {
		return nil, err
	}
	f, err := openOwned(k.Path(name), true)
	if errors.Is(err, fs.ErrExist) {
		return nil, fmt.Errorf("%w: %q", ErrExists, name)
	}
	if err != nil {
		return nil, fmt.Errorf("make the file of %q: %w", name, err)
	}
	r := &fileRecord{path: k.Path(name), header: h, file: f, sum: sum}
	if err := r.write(text); err != nil {
		return nil, errors.Join(fmt.Errorf("begin the file of %q: %w", name, err), f.Close())
	}
	if err := syncFolder(k.dir); err != nil {
		return nil, errors.Join(fmt.Errorf("begin the file of %q: %w", name, err), f.Close())
	}
	return r, nil
}

// Resume opens a file at its end. A line that was being written when the program died is cut off.
func (k *Files) Resume(_ context.Context, name string) (Record, error) {
	if err := CheckName(name); err != nil {
		return nil, err
	}
	f, err := openOwned(k.Path(name), false)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%w: %q", ErrNoSitting, name)
	}
	if err != nil {
		return nil, fmt.Errorf("open the file of %q: %w", name, err)
	}
	r, err := atItsEnd(f, k.Path(name))
	if err != nil {
		return nil, errors.Join(fmt.Errorf("open the file of %q: %w", name, err), f.Close())
	}
	return r, nil
}

// atItsEnd reads a file through and stands behind its last sound line.
func atItsEnd(f *os.File, path string) (*fileRecord, error) {
	size, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return nil, err
	}
	in, err := register.NewReader(io.NewSectionReader(f, 0, size))
	if err != nil {
		return nil, err
	}
	for _, err := range in.Entries() {
		if err != nil {
			return nil, err // damaged: it is left as it is
		}
	}
	r := &fileRecord{path: path, header: in.Header(), file: f, sum: in.Sum(), last: in.Last(), cut: size - in.Good()}
	r.good.Store(in.Good())
	if r.cut > 0 {
		if err := errors.Join(f.Truncate(in.Good()), f.Sync()); err != nil {
			return nil, fmt.Errorf("cut off a torn line: %w", err)
		}
	}
	_, err = f.Seek(in.Good(), io.SeekStart)
	return r, err
}

// Names lists the sittings in the folder, by name.
func (k *Files) Names(context.Context) ([]string, error) {
	files, err := os.ReadDir(k.dir)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, f := range files {
		if name, ok := strings.CutSuffix(f.Name(), ending); ok && f.Type().IsRegular() && CheckName(name) == nil {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names, nil
}

// Read gives what is kept under a name, to be read from its beginning as often as one likes. Nothing is opened for
// writing, and one who works the sitting is not held up. ErrNoSitting: there is none.
func (k *Files) Read(_ context.Context, name string) (block.Header, iter.Seq2[block.Entry, error], error) {
	if err := CheckName(name); err != nil {
		return block.Header{}, nil, err
	}
	open := func() (*os.File, *register.Reader, error) {
		f, err := os.Open(k.Path(name))
		if errors.Is(err, fs.ErrNotExist) {
			return nil, nil, fmt.Errorf("%w: %q", ErrNoSitting, name)
		}
		if err != nil {
			return nil, nil, err
		}
		in, err := register.NewReader(f)
		if err != nil {
			return nil, nil, errors.Join(err, f.Close())
		}
		return f, in, nil
	}
	f, in, err := open()
	if err != nil {
		return block.Header{}, nil, err
	}
	header := in.Header()
	_ = f.Close() // it was only read
	return header, func(yield func(block.Entry, error) bool) {
		f, in, err := open()
		if err != nil {
			yield(block.Entry{}, err)
			return
		}
		defer func() { _ = f.Close() }()
		for e, err := range in.Entries() {
			if !yield(e, err) || err != nil {
				return
			}
		}
	}, nil
}

// Look reads the first line and the last.
func (k *Files) Look(_ context.Context, name string) (Glance, error) {
	if err := CheckName(name); err != nil {
		return Glance{}, err
	}
	f, err := os.Open(k.Path(name))
	if errors.Is(err, fs.ErrNotExist) {
		return Glance{}, fmt.Errorf("%w: %q", ErrNoSitting, name)
	}
	if err != nil {
		return Glance{}, err
	}
	defer func() { _ = f.Close() }() // it was only read
	in, err := register.NewReader(f)
	if err != nil {
		return Glance{}, err
	}
	over, err := closed(f)
	if err != nil {
		return Glance{}, err
	}
	return Glance{Name: name, Began: in.Header().Began, Over: over}, nil
}

// closed tells whether the last line of a file is the mark that the end is the end. Such a line is short.
func closed(f *os.File) (bool, error) {
	const short = 512
	size, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return false, err
	}
	tail := make([]byte, min(size, short))
	if _, err := f.ReadAt(tail, size-int64(len(tail))); err != nil {
		return false, err
	}
	line := bytes.TrimSuffix(tail, []byte("\n"))
	var e block.Entry
	if err := json.Unmarshal(line[bytes.LastIndexByte(line, '\n')+1:], &e); err != nil {
		return false, nil // a torn line, or a long one: no mark
	}
	return e.Mark == block.Close, nil
}

// disk is what a record needs of its file.
type disk interface {
	io.Writer
	Sync() error
	Truncate(size int64) error
	Close() error
}

// fileRecord is a file open for writing.
type fileRecord struct {
	path   string
	header block.Header
	file   disk
	sum    register.Sum
	last   uint64
	cut    int64
	good   atomic.Int64 // bytes safely kept
	read   atomic.Pointer[place]
	text   []byte
	dead   error // why nothing can be written any more
}

// place is where a reading came to its end: behind so many bytes, at an entry with its sum.
type place struct {
	good int64
	last uint64
	sum  register.Sum
}

func (r *fileRecord) Header() block.Header { return r.header }

func (r *fileRecord) Cut() int64 { return r.cut }

// Entries reads the file, so that it can be read while it grows and after it was closed. Who goes on where the last reading
// came to its end is not kept waiting for what is before.
func (r *fileRecord) Entries(ctx context.Context, after uint64) iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		f, err := os.Open(r.path)
		if err != nil {
			yield(block.Entry{}, err)
			return
		}
		defer func() { _ = f.Close() }() // it was only read
		from := r.read.Load()
		if from == nil || from.last != after {
			from = &place{}
		}
		rest := io.NewSectionReader(f, from.good, r.good.Load()-from.good)
		in := register.Continue(rest, from.last, from.sum)
		if from.good == 0 {
			if in, err = register.NewReader(rest); err != nil {
				yield(block.Entry{}, err)
				return
			}
		}
		for e, err := range in.Entries() {
			if err == nil {
				err = ctx.Err()
			}
			if err != nil {
				yield(block.Entry{}, err)
				return
			}
			if e.Seq > after && !yield(e, nil) {
				return
			}
		}
		r.read.Store(&place{good: from.good + in.Good(), last: in.Last(), sum: in.Sum()})
	}
}

// Append writes the lines of a batch with one stroke and syncs them. After a short write or a failed sync nobody knows
// what the disk has, and asking it again does not help: the record is dead for good.
func (r *fileRecord) Append(_ context.Context, entries ...block.Entry) error {
	if r.dead != nil {
		return fmt.Errorf("%w: %w", ErrLostRecord, r.dead)
	}
	if err := inOrder(r.last, entries); err != nil {
		return err
	}
	text, sum := r.text[:0], r.sum
	var err error
	for _, e := range entries {
		if text, sum, err = register.AppendEntry(text, sum, e); err != nil {
			r.dead = err
			return err
		}
	}
	if err := r.write(text); err != nil {
		return err
	}
	r.text, r.sum, r.last = text, sum, r.last+uint64(len(entries))
	return nil
}

func (r *fileRecord) write(text []byte) error {
	n, err := r.file.Write(text)
	if err == nil && n < len(text) {
		err = io.ErrShortWrite
	}
	if err == nil {
		err = r.file.Sync()
	}
	if err != nil {
		r.dead = err
		err = fmt.Errorf("write the record: %w", err)
		// Those who asked for these lines are told that they are not recorded: whole ones may not stay. A full disk lets
		// them be cut off, one that can only be read does not.
		if cut := errors.Join(r.file.Truncate(r.good.Load()), r.file.Sync()); cut != nil {
			return &UnsureError{err}
		}
		return err
	}
	r.good.Add(int64(n))
	return nil
}

func (r *fileRecord) Close() error {
	if errors.Is(r.dead, fs.ErrClosed) {
		return nil
	}
	r.dead = fs.ErrClosed
	return r.file.Close()
}

package register

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"iter"
	"strconv"

	jsonv2 "github.com/go-json-experiment/json"

	"taillamp/block"
)

// Sum is the check that runs through a record: the CRC-32C of a line, started from the sum of the line before. A line
// altered, lost or out of its place breaks every sum after it. It guards against accidents, not against a forger.
type Sum uint32

// Format is the form of record that this program writes. It reads every form up to it.
const Format = 1

// The ways in which a text is no record that can be read.
var (
	ErrNotARecord = errors.New("register: not the record of a sitting")
	ErrNewer      = errors.New("register: the record comes from a newer program")
	ErrDamaged    = errors.New("register: the record is damaged")
)

// DamagedError tells where a record is damaged: sound lines follow a bad one, so that no interrupted writing explains
// it. It is an ErrDamaged.
type DamagedError struct {
	Line int    // of the file, the header being 1
	Seq  uint64 // of the last sound entry before it
	What string // what is wrong with the line
}

func (d *DamagedError) Error() string {
	return fmt.Sprintf("line %d %s; entries up to %d can still be read", d.Line, d.What, d.Seq)
}

// Is makes every DamagedError an ErrDamaged.
func (d *DamagedError) Is(target error) bool { return target == ErrDamaged }

var (
	castagnoli = crc32.MakeTable(crc32.Castagnoli)
	crcMember  = []byte(`,"crc":"`)
)

// crcLength is the length of what a line ends with: the member crc, the brace and the line feed.
const crcLength = len(`,"crc":"00000000"}`) + 1

// AppendHeader appends the first line of a record to dst. The sum it returns belongs to the first entry.
func AppendHeader(dst []byte, h block.Header) ([]byte, Sum, error) {
	h.Format = Format
	line, sum, err := appendLine(dst, 0, h)
	if err != nil {
		return dst, 0, fmt.Errorf("write the header of %q: %w", h.Sitting, err)
	}
	return line, sum, nil
}

// AppendEntry appends one entry as a line to dst. prev is the sum of the line before; the one it returns belongs to the
// next.
func AppendEntry(dst []byte, prev Sum, e block.Entry) ([]byte, Sum, error) {
	line, sum, err := appendLine(dst, prev, e)
	if err != nil {
		return dst, prev, fmt.Errorf("write entry %d: %w", e.Seq, err)
	}
	return line, sum, nil
}

// appendLine writes a value as one JSON object and closes it with its sum.
func appendLine(dst []byte, prev Sum, v any) ([]byte, Sum, error) {
	w := bytes.NewBuffer(dst)
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return dst, prev, err
	}
	line := w.Bytes()
	line = line[:len(line)-len("}\n")]
	sum := prev.over(line[len(dst):])
	line = append(line, crcMember...)
	line = sum.append(line)
	return append(line, "\"}\n"...), sum, nil
}

// over is the sum of a line's bytes, started from the sum of the line before.
func (s Sum) over(body []byte) Sum { return Sum(crc32.Update(uint32(s), castagnoli, body)) }

func (s Sum) append(dst []byte) []byte {
	const hex = "0123456789abcdef"
	for shift := 28; shift >= 0; shift -= 4 {
		dst = append(dst, hex[s>>shift&15])
	}
	return dst
}

// A line as it stands in the file, taken apart but not yet understood.
type line struct {
	body []byte // before the member crc
	sum  Sum    // what the line says its sum is
	text []byte // the whole line without its line feed: what JSON sees
}

// cut takes a line apart. what says in words why it cannot be.
func cut(raw []byte) (l line, what string) {
	if len(raw) == 0 || raw[len(raw)-1] != '\n' {
		return line{}, "breaks off before its end"
	}
	at := len(raw) - crcLength
	if at < 1 || !bytes.HasPrefix(raw[at:], crcMember) || raw[len(raw)-2] != '}' || raw[len(raw)-3] != '"' {
		return line{}, "has no check at its end"
	}
	digits := raw[at+len(crcMember) : len(raw)-3]
	sum, err := strconv.ParseUint(string(digits), 16, 32)
	if err != nil || !bytes.Equal(Sum(sum).append(make([]byte, 0, 8)), digits) {
		return line{}, "has no check at its end"
	}
	return line{body: raw[:at], sum: Sum(sum), text: raw[:len(raw)-1]}, ""
}

// Tail says what lies after the last sound line of a record.
type Tail int

// The ways a record may end. After Torn the writing was interrupted and the rest of the file may be cut off; after
// Damaged something else happened to it, and it must be left as it is.
const (
	Whole Tail = iota
	Torn
	Damaged
)

// A Reader reads a record line by line and checks that each follows from the one before.
type Reader struct {
	in     *bufio.Reader
	long   []byte // a line longer than the buffer of in, being put together
	header block.Header
	sum    Sum
	good   int64
	line   int
	seq    uint64
	tail   Tail
}

// longest is the longest line that a Reader takes. A header with a large district is some tens of kilobytes.
const longest = 16 << 20

// NewReader reads the header at once. Entries yields what follows.
func NewReader(r io.Reader) (*Reader, error) {
	d := &Reader{in: bufio.NewReaderSize(r, 32<<10)}
	raw, err := d.next()
	if err != nil && err != io.EOF {
		return nil, fmt.Errorf("read the header: %w", err)
	}
	l, what := cut(raw)
	if what != "" || l.sum != Sum(0).over(l.body) {
		return nil, ErrNotARecord
	}
	var form struct {
		Format int `json:"taillamp"`
	}
	if err := json.Unmarshal(l.text, &form); err != nil || form.Format < 1 {
		return nil, ErrNotARecord
	}
	if form.Format > Format {
		return nil, fmt.Errorf("%w: it is of form %d, this program reads up to %d", ErrNewer, form.Format, Format)
	}
	if err := json.Unmarshal(l.text, &d.header); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNotARecord, err)
	}
	d.take(raw, l)
	return d, nil
}

// Continue reads on behind an entry up to which the record has been read before: its number, and its sum.
func Continue(r io.Reader, last uint64, sum Sum) *Reader {
	return &Reader{in: bufio.NewReaderSize(r, 32<<10), sum: sum, seq: last, line: int(last) + 1} // the header is a line too
}

// Header is the first line of the record. A Reader that goes on has none.
func (d *Reader) Header() block.Header { return d.header }

// Good is the number of bytes read up to the end of the last sound line.
func (d *Reader) Good() int64 { return d.good }

// Tail says what lies after the last sound line. It is known when Entries has come to its end.
func (d *Reader) Tail() Tail { return d.tail }

// Sum is the sum of the last sound line read: a writer goes on from it.
func (d *Reader) Sum() Sum { return d.sum }

// Last is the number of the last sound entry read.
func (d *Reader) Last() uint64 { return d.seq }

// Entries yields the entries in order, up to the first fault. A torn tail ends them without an error: those bytes were
// never told to anybody. A damaged record ends them with an error that says where.
func (d *Reader) Entries() iter.Seq2[block.Entry, error] {
	return func(yield func(block.Entry, error) bool) {
		for {
			raw, err := d.next()
			if err == io.EOF && len(raw) == 0 {
				return
			}
			if err != nil && err != io.EOF {
				yield(block.Entry{}, fmt.Errorf("read line %d: %w", d.line+1, err))
				return
			}
			e, l, what := d.entry(raw)
			if what != "" {
				if err := d.judge(raw, what); err != nil {
					yield(block.Entry{}, err)
				}
				return
			}
			d.take(raw, l)
			d.seq = e.Seq
			if !yield(e, nil) {
				return
			}
		}
	}
}

// entry understands a line, or says in words why it cannot stand here.
func (d *Reader) entry(raw []byte) (block.Entry, line, string) {
	l, what := cut(raw)
	if what != "" {
		return block.Entry{}, l, what
	}
	if l.sum != d.sum.over(l.body) {
		return block.Entry{}, l, "does not follow from the line before it"
	}
	var e block.Entry
	// Twice as fast as encoding/json, and a record is read back whole whenever a sitting goes on.
	if err := jsonv2.Unmarshal(l.text, &e); err != nil {
		return block.Entry{}, l, "cannot be understood"
	}
	if e.Seq != d.seq+1 {
		return block.Entry{}, l, fmt.Sprintf("is numbered %d where %d belongs", e.Seq, d.seq+1)
	}
	return e, l, ""
}

func (d *Reader) take(raw []byte, l line) {
	d.sum = l.sum
	d.good += int64(len(raw))
	d.line++
}

// judge looks past a bad line. If any sound line follows, the record is damaged; else its tail is torn.
//
// A line is sound if it follows from the last good line (then the bad one was put in), or from the line before it as
// that now reads, or from the sum that the line before it claims (then only the text of that one was altered).
func (d *Reader) judge(raw []byte, what string) error {
	d.tail = Torn
	bad := &DamagedError{Line: d.line + 1, Seq: d.seq, What: what}
	before := d.sum
	for {
		from := []Sum{d.sum}
		if len(raw) > crcLength {
			from = append(from, before.over(raw[:len(raw)-crcLength]))
		}
		if l, what := cut(raw); what == "" {
			from = append(from, l.sum)
			before = l.sum
		}
		var err error
		if raw, err = d.next(); err != nil && err != io.EOF {
			return fmt.Errorf("read past line %d: %w", bad.Line, err)
		}
		if len(raw) == 0 {
			return nil
		}
		if l, what := cut(raw); what == "" {
			for _, s := range from {
				if l.sum == s.over(l.body) {
					d.tail = Damaged
					return bad
				}
			}
		}
	}
}

// next reads one line, its line feed included. The last may lack it and comes with io.EOF. The bytes hold until the
// next call.
func (d *Reader) next() ([]byte, error) {
	raw, err := d.in.ReadSlice('\n')
	if err != bufio.ErrBufferFull {
		return raw, err
	}
	d.long = append(d.long[:0], raw...)
	for err == bufio.ErrBufferFull && len(d.long) < longest {
		raw, err = d.in.ReadSlice('\n')
		d.long = append(d.long, raw...)
	}
	if err == bufio.ErrBufferFull {
		err = nil // too long to be a line of ours; it is judged as one that breaks off
	}
	return d.long, err
}

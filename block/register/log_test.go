package register_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"hash/crc32"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"taillamp/block"
	"taillamp/block/register"
)

var began = time.Date(2026, 3, 14, 19, 30, 2, 118e6, time.UTC)

func aHeader() block.Header {
	return block.Header{
		Program: "taillamp test", Sitting: "lathermoor-2026-03-14", Began: began, Zone: "Europe/London",
		Layout: "format = 1\ntitle = \"Lathermoor District\" # <&>\n", Books: map[string]string{"1960-letters": "…"},
		Trains: "train,class\n", Seed: 7,
	}
}

// anEntry is some entry that a sitting could record, with its number.
func anEntry(t *rapid.T, seq uint64) block.Entry {
	moment := func(label string) time.Time {
		return began.Add(time.Duration(rapid.Int64Range(0, 4*3600*1000*10).Draw(t, label)) * 100 * time.Microsecond)
	}
	if rapid.IntRange(0, 9).Draw(t, "mark") == 0 {
		return block.Entry{Seq: seq, Mark: rapid.SampledFrom([]block.Mark{block.Open, block.Cut, block.Close}).Draw(t, "which"),
			At: moment("at"), Epoch: "7c19e0", Program: "taillamp test", Bytes: rapid.Int64Range(0, 300).Draw(t, "bytes")}
	}
	e := block.Entry{Seq: seq, Seat: "UL/7QK3M9DX4T2A", Act: rapid.Uint64Range(0, 1<<53).Draw(t, "act"),
		Event: block.Event{
			Do: rapid.SampledFrom([]block.Do{block.Beat, block.Turn, block.Train, block.Remark, block.Tick}).Draw(t, "do"),
			At: moment("at"), Pressed: moment("pressed"), By: "UL", Circuit: "UL-OS", Off: rapid.Bool().Draw(t, "off"),
			Line: rapid.Uint64Range(0, 1<<53).Draw(t, "line"), Words: rapid.String().Draw(t, "words"),
		},
		Outcome: block.Outcome{Ending: block.Done},
	}
	if rapid.Bool().Draw(t, "rings") {
		e.Outcome.Rings = []block.Ring{{Circuit: "UL-OS", To: "OS", Pressed: moment("ring")}}
	}
	if rapid.Bool().Draw(t, "changes") {
		e.Outcome.Changes = []block.Change{
			{Code: &block.Heard{Circuit: "UL-OS", By: "UL", First: moment("first"), Beats: block.Beats{3, 1, 1}, Keys: []block.CodeKey{"express"}}},
			{Indicator: &block.Shown{Section: "UL-OS Down Main", Aspect: block.Clear}},
		}
		e.Outcome.Irregular = []block.Irregularity{{Rule: "R13", Box: "OS", At: moment("when")}}
	}
	return e
}

// lines writes a record and also gives the byte at which each line ends.
func lines(t require.TestingT, h block.Header, entries []block.Entry) (text []byte, ends []int) {
	text, sum, err := register.AppendHeader(nil, h)
	require.NoError(t, err)
	ends = append(ends, len(text))
	for _, e := range entries {
		text, sum, err = register.AppendEntry(text, sum, e)
		require.NoError(t, err)
		ends = append(ends, len(text))
	}
	return text, ends
}

// reading is all that a Reader says of a text.
type reading struct {
	header  block.Header
	entries []block.Entry
	good    int64
	tail    register.Tail
	err     error
}

func read(text []byte) reading {
	d, err := register.NewReader(bytes.NewReader(text))
	if err != nil {
		return reading{err: err}
	}
	g := reading{header: d.Header()}
	for e, err := range d.Entries() {
		if err != nil {
			g.err = err
			break
		}
		g.entries = append(g.entries, e)
	}
	g.good, g.tail = d.Good(), d.Tail()
	return g
}

// evening is a record of so many entries, of several kinds and lengths.
func evening(n int) []block.Entry {
	entries := []block.Entry{{Seq: 1, Mark: block.Open, Epoch: "7c19e0", At: began, Program: "taillamp test"}}
	for i := 1; i < n; i++ {
		at := began.Add(time.Duration(i) * 700 * time.Millisecond)
		e := block.Entry{Seq: uint64(i + 1), Seat: "UL/7QK3M9DX4T2A", Act: uint64(i), Outcome: block.Outcome{Ending: block.Done},
			Event: block.Event{Do: block.Beat, At: at, Pressed: at.Add(-12300 * time.Microsecond), By: "UL", Circuit: "UL-OS"}}
		if i%5 == 0 {
			e.Event = block.Event{Do: block.Tick, At: at}
			e.Outcome.Changes = []block.Change{{Code: &block.Heard{Circuit: "UL-OS", By: "UL", First: at, Beats: block.Beats{4}}}}
		}
		entries = append(entries, e)
	}
	return entries
}

func TestWhatIsAppendedIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var entries []block.Entry
		for i := range rapid.IntRange(0, 8).Draw(t, "entries") {
			entries = append(entries, anEntry(t, uint64(i+1)))
		}
		text, ends := lines(t, aHeader(), entries)
		got := read(text)
		require.NoError(t, got.err)
		want := aHeader()
		want.Format = register.Format
		require.Equal(t, want, got.header)
		require.Equal(t, entries, got.entries)
		require.Equal(t, register.Whole, got.tail)
		require.EqualValues(t, ends[len(ends)-1], got.good)
	})
}

// The record stays plain JSON Lines for every other tool: each line is one object of RFC 8259 and holds what
// encoding/json makes of the entry, with the member crc behind it. The sum is the CRC-32C of RFC 3720 B.4, as
// hash/crc32 computes it.
func TestALineIsPlainJSONWithItsSum(t *testing.T) {
	e := evening(6)[5]
	var prev register.Sum = 0x12345678
	text, sum, err := register.AppendEntry(nil, prev, e)
	require.NoError(t, err)

	plain, err := json.Marshal(e)
	require.NoError(t, err)
	body := strings.TrimSuffix(string(plain), "}")
	crc := crc32.Update(uint32(prev), crc32.MakeTable(crc32.Castagnoli), []byte(body))
	require.Equal(t, fmt.Sprintf("%s,\"crc\":\"%08x\"}\n", body, crc), string(text))
	require.EqualValues(t, crc, sum)
	require.True(t, json.Valid(text))
}

// Known answers of RFC 3720 B.4, and one that chaining must keep.
func TestTheSumIsCRC32C(t *testing.T) {
	table := crc32.MakeTable(crc32.Castagnoli)
	for text, want := range map[string]uint32{
		strings.Repeat("\x00", 32): 0x8a9136aa,
		strings.Repeat("\xff", 32): 0x62a8ab43,
		"123456789":                0xe3069283,
	} {
		if got := crc32.Checksum([]byte(text), table); got != want {
			t.Errorf("%x: %08x, want %08x", text, got, want)
		}
	}
	if got := crc32.Update(crc32.Checksum([]byte("1234"), table), table, []byte("56789")); got != 0xe3069283 {
		t.Errorf("chained: %08x", got)
	}
}

// A record cut anywhere in its last three lines reads as a prefix of whole entries, and Good is where to cut it.
func TestARecordCutAtEveryByteOpens(t *testing.T) {
	entries := evening(12)
	text, ends := lines(t, aHeader(), entries)
	for n := ends[len(ends)-4]; n <= len(text); n++ {
		got := read(text[:n])
		require.NoErrorf(t, got.err, "cut at %d", n)
		whole := 0
		for _, end := range ends[1:] {
			if end <= n {
				whole++
			}
		}
		require.Equalf(t, append([]block.Entry(nil), entries[:whole]...), got.entries, "cut at %d", n)
		require.EqualValues(t, ends[whole], got.good)
		want := register.Torn
		if ends[whole] == n {
			want = register.Whole
		}
		require.Equalf(t, want, got.tail, "cut at %d", n)
	}
}

// Whatever single bit of a record is turned over, no reader takes it for whole; only where the last line alone is hit
// may it be taken for an interrupted writing.
func TestEveryTurnedBitIsNoticed(t *testing.T) {
	entries := evening(8)
	text, ends := lines(t, aHeader(), entries)
	last := ends[len(ends)-2]
	for i := range text {
		for bit := range 8 {
			text[i] ^= 1 << bit
			got := read(text)
			text[i] ^= 1 << bit
			switch {
			case i < ends[0]:
				require.Errorf(t, got.err, "byte %d bit %d of the header", i, bit)
			case i < last-1: // the line feed of the last line but one joins both into one bad last line
				require.ErrorIsf(t, got.err, register.ErrDamaged, "byte %d bit %d", i, bit)
				require.Equal(t, register.Damaged, got.tail)
			default:
				require.NoErrorf(t, got.err, "byte %d bit %d", i, bit)
				require.Equalf(t, register.Torn, got.tail, "byte %d bit %d", i, bit)
			}
			require.Lessf(t, len(got.entries), len(entries), "byte %d bit %d", i, bit)
			require.Equal(t, append([]block.Entry(nil), entries[:len(got.entries)]...), got.entries)
		}
	}
}

func TestALostOrSwappedLineIsDamage(t *testing.T) {
	text, ends := lines(t, aHeader(), evening(9))
	lost := append(bytes.Clone(text[:ends[3]]), text[ends[4]:]...)
	swapped := append(bytes.Clone(text[:ends[3]]), text[ends[4]:ends[5]]...)
	swapped = append(append(swapped, text[ends[3]:ends[4]]...), text[ends[5]:]...)
	atEnd := append(bytes.Clone(text[:ends[7]]), text[ends[8]:]...)
	atEnd = append(atEnd, text[ends[7]:ends[8]]...)
	twice := append(bytes.Clone(text[:ends[5]]), text[ends[4]:]...)
	for name, text := range map[string][]byte{"lost": lost, "swapped": swapped, "swapped at the end": atEnd, "twice": twice} {
		t.Run(name, func(t *testing.T) {
			require.ErrorIs(t, read(text).err, register.ErrDamaged)
		})
	}
}

// Story Q13: a damaged middle is reported with its line and what still reads.
func TestDamageIsToldWithItsLine(t *testing.T) {
	entries := evening(9)
	text, ends := lines(t, aHeader(), entries)
	text[ends[4]+20] ^= 4
	got := read(text)
	var d *register.DamagedError
	require.ErrorAs(t, got.err, &d)
	require.Equal(t, 6, d.Line)
	require.EqualValues(t, 4, d.Seq)
	require.Equal(t, "line 6 does not follow from the line before it; entries up to 4 can still be read", d.Error())
	require.Equal(t, entries[:4], got.entries)
	require.EqualValues(t, ends[4], got.good)
}

func TestWhatIsNoRecordIsToldApart(t *testing.T) {
	newer := []byte(`{"taillamp":2,"program":"taillamp 9"`)
	sum := crc32.Checksum(newer, crc32.MakeTable(crc32.Castagnoli))
	newer = fmt.Appendf(newer, ",\"crc\":\"%08x\"}\n", sum)
	whole, _ := lines(t, aHeader(), nil)
	for name, c := range map[string]struct {
		text string
		want error
	}{
		"empty":             {"", register.ErrNotARecord},
		"words":             {"18:04:10 UL rings OS 1\n", register.ErrNotARecord},
		"other JSON":        {"{\"seq\":1}\n", register.ErrNotARecord},
		"half a header":     {string(whole[:len(whole)/2]), register.ErrNotARecord},
		"without line feed": {string(whole[:len(whole)-1]), register.ErrNotARecord},
		"newer":             {string(newer), register.ErrNewer},
	} {
		t.Run(name, func(t *testing.T) {
			require.ErrorIs(t, read([]byte(c.text)).err, c.want)
		})
	}
}

// A sequence number out of turn is a fault even where the sums agree: some program wrote it so.
func TestANumberOutOfTurnIsAFault(t *testing.T) {
	entries := evening(6)
	entries[3].Seq = 9
	text, _ := lines(t, aHeader(), entries)
	require.EqualError(t, read(text).err, "line 5 is numbered 9 where 4 belongs; entries up to 3 can still be read")
}

var errDisk = errors.New("the disk is gone")

type failing struct{ after []byte }

func (f *failing) Read(p []byte) (int, error) {
	if len(f.after) == 0 {
		return 0, errDisk
	}
	n := copy(p, f.after)
	f.after = f.after[n:]
	return n, nil
}

func TestAFailingDiskIsNotATornTail(t *testing.T) {
	text, ends := lines(t, aHeader(), evening(6))
	d, err := register.NewReader(&failing{after: text[:ends[3]+10]})
	require.NoError(t, err)
	for _, err = range d.Entries() {
		if err != nil {
			break
		}
	}
	require.ErrorIs(t, err, errDisk)
}

func FuzzLog(f *testing.F) {
	whole, ends := lines(f, aHeader(), evening(6))
	f.Add(whole)
	f.Add(whole[:len(whole)-9])
	f.Add(append(bytes.Clone(whole[:ends[2]]), whole[ends[3]:]...))
	f.Add([]byte("{}\n"))
	f.Add([]byte(`,"crc":"00000000"}` + "\n"))
	f.Add(bytes.Repeat([]byte{0}, 300))
	f.Fuzz(func(t *testing.T, text []byte) {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		got := read(text)
		runtime.ReadMemStats(&after)
		if used := after.TotalAlloc - before.TotalAlloc; used > 256<<10+16*uint64(len(text)) {
			t.Errorf("%d bytes allocated for %d read", used, len(text))
		}
		if got.good < 0 || got.good > int64(len(text)) {
			t.Fatalf("Good is %d of %d", got.good, len(text))
		}
		if got.good > 0 && text[got.good-1] != '\n' {
			t.Errorf("Good is inside a line")
		}
		if got.err == nil && got.tail == register.Whole {
			if got.good != int64(len(text)) {
				t.Errorf("whole, but %d of %d bytes are good", got.good, len(text))
			}
			again, _ := lines(t, got.header, got.entries)
			if r := read(again); r.err != nil || !reflect.DeepEqual(r.entries, got.entries) {
				t.Errorf("written again it reads differently: %v", r.err)
			}
		}
	})
}

func BenchmarkAppendEntry(b *testing.B) {
	e := evening(2)[1]
	var buf []byte
	b.ReportAllocs()
	for b.Loop() {
		buf, _, _ = register.AppendEntry(buf[:0], 0, e)
	}
	b.SetBytes(int64(len(buf)))
}

// BenchmarkReader reports entries read in a second, out of memory. With the steps of the rules, replay is to reach
// 100,000 in a second.
func BenchmarkReader(b *testing.B) {
	text, _ := lines(b, aHeader(), evening(10_000))
	n := 0
	for b.Loop() {
		n += len(read(text).entries)
	}
	b.ReportMetric(float64(n)/b.Elapsed().Seconds(), "entries/s")
	b.SetBytes(int64(len(text)))
}

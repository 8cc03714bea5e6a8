package block

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Beats are the groups of a bell code: 3-1-1 is {3, 1, 1}. As text, and in JSON, "3-1-1".
// A nil Beats is no code at all.
type Beats []uint8

// The bounds of what a hand may ring as one code. Sixteen beats are the longest group in any book (testing).
const (
	maxGroups = 8
	maxGroup  = 40
)

// ErrNotBeats is the error of ParseBeats for a text that is no bell code.
var ErrNotBeats = errors.New("block: not a bell code")

// ParseBeats reads a bell code as the books print it: "3-1-1", "16". Beats.String is its inverse.
func ParseBeats(s string) (Beats, error) {
	if s == "" {
		return nil, fmt.Errorf("%w: nothing there; write groups of beats such as 3-1", ErrNotBeats)
	}
	parts := strings.Split(s, "-")
	if len(parts) > maxGroups {
		return nil, fmt.Errorf("%w: %q has %d groups, the most is %d", ErrNotBeats, s, len(parts), maxGroups)
	}
	b := make(Beats, 0, len(parts))
	for _, p := range parts {
		n, err := strconv.ParseUint(p, 10, 8)
		if err != nil || p[0] == '0' || p[0] == '+' {
			return nil, fmt.Errorf("%w: %q in %q is not a number of beats; write groups such as 3-1", ErrNotBeats, p, s)
		}
		if n > maxGroup {
			return nil, fmt.Errorf("%w: %d beats in %q, the most in a group is %d", ErrNotBeats, n, s, maxGroup)
		}
		b = append(b, uint8(n))
	}
	return b, nil
}

// mustBeats is for codes written in this package.
func mustBeats(s string) Beats {
	b, err := ParseBeats(s)
	if err != nil {
		panic(err)
	}
	return b
}

// String gives the code as the books print it.
func (b Beats) String() string {
	var text [4 * maxGroups]byte
	return string(b.append(text[:0]))
}

func (b Beats) append(dst []byte) []byte {
	for i, n := range b {
		if i > 0 {
			dst = append(dst, '-')
		}
		dst = strconv.AppendUint(dst, uint64(n), 10)
	}
	return dst
}

// Total is the number of strokes of the whole code.
func (b Beats) Total() int {
	n := 0
	for _, g := range b {
		n += int(g)
	}
	return n
}

// Equal tells whether both are the same groups in the same order.
func (b Beats) Equal(c Beats) bool { return string(b) == string(c) }

// MarshalText gives what String gives.
func (b Beats) MarshalText() ([]byte, error) { return b.append(nil), nil }

// UnmarshalText reads what ParseBeats reads.
func (b *Beats) UnmarshalText(text []byte) error {
	c, err := ParseBeats(string(text))
	if err != nil {
		return err
	}
	*b = c
	return nil
}

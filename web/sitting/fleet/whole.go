//go:build fleet

package fleet

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"taillamp/web/sitting"
)

// most is how many bytes of lines go in one message, so that an engine with its usual limit of a megabyte takes them. A
// single line may be longer.
const most = 256 << 10

// Lay keeps a sitting whose record is there already, byte for byte, and reads it back. Where an earlier try broke off it
// goes on behind what is there. sitting.ErrExists: another sitting of that name is there.
func (k *Keeper) Lay(ctx context.Context, name string, text []byte) error {
	if _, err := sitting.CheckWhole(text); err != nil {
		return fmt.Errorf("lay down %q: %w", name, err)
	}
	pieces := inPieces(text)
	r, err := k.begin(ctx, name, pieces[0])
	if errors.Is(err, sitting.ErrExists) {
		var there []byte
		if there, err = k.Text(ctx, name); err != nil {
			return err
		}
		if !bytes.HasPrefix(text, there) {
			return fmt.Errorf("%w: %q", sitting.ErrExists, name)
		}
		if r, err = k.own(name); err != nil {
			return err
		}
		if err := r.toItsEnd(ctx); err != nil {
			return errors.Join(err, r.Close())
		}
		pieces = append([][]byte{nil}, inPieces(text[len(there):])...)
	}
	if err != nil {
		return err
	}
	for _, p := range pieces[1:] {
		if err := r.publish(ctx, p); err != nil {
			return errors.Join(err, r.Close())
		}
	}
	back, err := k.Text(ctx, name)
	if err == nil && !bytes.Equal(back, text) {
		err = fmt.Errorf("%q came to the engine otherwise than it was sent", name)
	}
	return errors.Join(err, r.Close())
}

// inPieces cuts a record between lines; the first piece is the header alone.
func inPieces(text []byte) [][]byte {
	var pieces [][]byte
	var piece []byte
	for n, line := range bytes.SplitAfter(text, []byte("\n")) {
		if len(piece) > 0 && (len(piece)+len(line) > most || n == 1 && len(pieces) == 0) {
			pieces, piece = append(pieces, piece), nil
		}
		piece = append(piece, line...)
	}
	if len(piece) > 0 {
		pieces = append(pieces, piece)
	}
	return pieces
}

// Remove takes a sitting out of the engine for good. Whoever asks must hold its lease and have it elsewhere.
func (k *Keeper) Remove(ctx context.Context, name string) error {
	if err := sitting.CheckName(name); err != nil {
		return err
	}
	return k.e.js.DeleteStream(ctx, streams+name)
}

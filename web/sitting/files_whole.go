package sitting

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"taillamp/block"
	"taillamp/block/register"
)

// carried is what the name of a file ends with whose sitting is kept elsewhere now.
const carried = ".carried"

// Lay keeps a sitting whose record is there already, byte for byte. ErrExists: there is one of that name. A text that
// is no whole record is register.ErrDamaged or register.ErrNotARecord.
func (k *Files) Lay(_ context.Context, name string, text []byte) error {
	if err := CheckName(name); err != nil {
		return err
	}
	if _, err := CheckWhole(text); err != nil {
		return fmt.Errorf("lay down %q: %w", name, err)
	}
	f, err := openOwned(k.Path(name), true)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%w: %q", ErrExists, name)
	}
	if err != nil {
		return fmt.Errorf("make the file of %q: %w", name, err)
	}
	r := &fileRecord{file: f}
	if err := errors.Join(r.write(text), f.Close(), syncFolder(k.dir)); err != nil {
		return errors.Join(fmt.Errorf("lay down %q: %w", name, err), os.Remove(k.Path(name)))
	}
	return nil
}

// Lift gives the file of a sitting as it is, while nobody works it, to be kept elsewhere. When put is called with true
// it is kept there: the file stays, and counts as a sitting no longer. With false all is as it was.
func (k *Files) Lift(ctx context.Context, name string) (text []byte, put func(elsewhere bool) error, err error) {
	r, err := k.Resume(ctx, name) // a torn tail is cut off, as whenever a sitting goes on
	if err != nil {
		return nil, nil, err
	}
	if text, err = os.ReadFile(k.Path(name)); err != nil {
		return nil, nil, errors.Join(fmt.Errorf("read the file of %q: %w", name, err), r.Close())
	}
	return text, func(elsewhere bool) error {
		if !elsewhere {
			return r.Close()
		}
		return errors.Join(r.Close(), os.Rename(k.Path(name), k.Path(name)+carried), syncFolder(k.dir))
	}, nil
}

// CheckWhole reads a record's text and tells whether it was ended. Anything behind its last sound line is
// register.ErrDamaged.
func CheckWhole(text []byte) (over bool, err error) {
	in, err := register.NewReader(bytes.NewReader(text))
	if err != nil {
		return false, err
	}
	for e, err := range in.Entries() {
		if err != nil {
			return false, err
		}
		over = e.Mark == block.Close
	}
	if in.Good() != int64(len(text)) {
		return false, fmt.Errorf("%w: a line breaks off before its end", register.ErrDamaged)
	}
	return over, nil
}

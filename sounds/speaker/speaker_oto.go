//go:build speaker && (cgo || windows)

package speaker

import (
	"fmt"
	"sync"
	"time"

	"github.com/hajimehoshi/oto/v2"
)

const (
	deviceBuffer = 20 * time.Millisecond  // what the device holds
	playerBuffer = 10 * time.Millisecond  // what is read ahead for it
	readyWithin  = 2 * time.Second        // for the device to open
	provenAfter  = 250 * time.Millisecond // an absent device shows itself only when it is played to
	buffered     = 400 * time.Millisecond // more than any device takes ahead of its time
)

// There is one audio context in a process, and it is never closed: the library behind it allows no other.
var audio struct {
	once    sync.Once
	context *oto.Context
	rate    int
	err     error
}

// device is an open loudspeaker: one player that never ends and reads the bench.
type device struct {
	*bench
	player oto.Player
}

// Open finds the host's loudspeaker and proves that it plays, by 250 ms of silence. It returns ErrNoSpeaker
// within three seconds where there is none. The rate must be the same at every call, and the speaker opened
// before must have been closed.
func Open(rate int) (Speaker, error) {
	audio.once.Do(func() {
		audio.rate = rate
		audio.context, audio.err = openContext(rate)
	})
	if audio.err != nil {
		return nil, audio.err
	}
	if audio.rate != rate {
		return nil, fmt.Errorf("%w at %d Hz: it is open at %d", ErrNoSpeaker, rate, audio.rate)
	}
	if err := audio.context.Resume(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoSpeaker, err)
	}
	d := &device{bench: newBench(rate)}
	d.player = audio.context.NewPlayer(d.bench)
	if sized, ok := d.player.(oto.BufferSizeSetter); ok {
		sized.SetBufferSize(2 * int(d.samples(playerBuffer)))
	}
	d.player.Play()
	time.Sleep(provenAfter)
	if err := d.proven(); err != nil {
		d.Close()
		return nil, err
	}
	return d, nil
}

func openContext(rate int) (*oto.Context, error) {
	hushLibrary()
	context, ready, err := oto.NewContextWithOptions(&oto.NewContextOptions{
		SampleRate: rate, ChannelCount: 1, Format: oto.FormatSignedInt16LE, BufferSize: deviceBuffer,
	})
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoSpeaker, err)
	}
	select {
	case <-ready:
	case <-time.After(readyWithin):
		return nil, fmt.Errorf("%w: it did not open within %v", ErrNoSpeaker, readyWithin)
	}
	if err := context.Err(); err != nil {
		return nil, fmt.Errorf("%w: %w", ErrNoSpeaker, err)
	}
	return context, nil
}

// pace tells how many seconds of sound the device has taken, and in what time.
func (b *bench) pace() (sound, passed float64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.began.IsZero() {
		return 0, 0
	}
	return b.seconds(b.given), b.clock().Sub(b.began).Seconds()
}

// proven tells whether the device took the silence at the pace of a clock. One that takes nothing is not
// there; one that takes it in an instant swallows sound and would spend a whole processor on it.
func (d *device) proven() error {
	if err := audio.context.Err(); err != nil {
		return fmt.Errorf("%w: %w", ErrNoSpeaker, err)
	}
	sound, passed := d.pace()
	if sound == 0 {
		return fmt.Errorf("%w: it opened but takes no sound", ErrNoSpeaker)
	}
	if sound > passed+buffered.Seconds() {
		return fmt.Errorf("%w: the device swallows sound without playing it", ErrNoSpeaker)
	}
	return nil
}

func (d *device) Lost() error {
	if err := audio.context.Err(); err != nil {
		return fmt.Errorf("%w: %w", ErrNoSpeaker, err)
	}
	if d.stalled() {
		return fmt.Errorf("%w: it takes no more sound", ErrNoSpeaker)
	}
	return nil
}

func (d *device) Close() error {
	err := d.player.Close()
	if suspend := audio.context.Suspend(); err == nil {
		err = suspend
	}
	if err != nil {
		return fmt.Errorf("close loudspeaker: %w", err)
	}
	return nil
}

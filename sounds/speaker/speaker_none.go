//go:build !(speaker && (cgo || windows))

package speaker

// Open finds the host's loudspeaker. This build has none.
func Open(rate int) (Speaker, error) { return nil, ErrNotBuilt }

package web

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// L1: a machine that is on none of this one's networks is elsewhere: RFC 5737 keeps 203.0.113.0/24 for documentation, so
// nobody is on it.
func TestOutside(t *testing.T) {
	for at, want := range map[string]bool{"127.0.0.1": false, "::1": false, "fe80::1%eth0": false, "169.254.3.4": false,
		"203.0.113.9": true, "::ffff:203.0.113.9": true, "nonsense": false} {
		require.Equal(t, want, outside(at), at)
	}
}

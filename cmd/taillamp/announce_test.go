package main

import (
	"io"
	"log"
	"net"
	"strconv"
	"testing"
	"time"

	"github.com/hashicorp/mdns"
	"github.com/stretchr/testify/require"
)

// A8, A14: by a name of multicast DNS (RFC 6762) a tablet finds the program where the network carries it; the plain
// address is said all the same. Tried on the loopback, where it is carried.
func TestServeIsFoundByName(t *testing.T) {
	s := start(t, "--dir", t.TempDir(), "--layout", "tiny", "--announce", "Lathermoor-Shed")
	defer s.end()
	s.find(`(open +http://127\.0\.0\.1:\d+/)`)
	at := s.find(`or +(http://lathermoor-shed\.local:\d+/) `)
	lo, err := net.InterfaceByName("lo")
	if err != nil {
		t.Skip("this machine's loopback has another name")
	}
	found := make(chan *mdns.ServiceEntry, 8)
	require.NoError(t, mdns.Query(&mdns.QueryParam{Service: "_http._tcp", Domain: "local", Interface: lo, Timeout: 2 * time.Second,
		Entries: found, DisableIPv6: true, Logger: log.New(io.Discard, "", 0)}))
	close(found)
	for e := range found {
		if e.Host == "lathermoor-shed.local." {
			require.Equal(t, "127.0.0.1", e.AddrV4.String())
			require.Contains(t, at, net.JoinHostPort("lathermoor-shed.local", strconv.Itoa(e.Port)))
			return
		}
	}
	t.Fatal("nobody answers to the name")
}

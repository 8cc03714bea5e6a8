package main

import (
	"errors"
	"io"
	"log"
	"net"
	"net/netip"
	"strings"

	"github.com/hashicorp/mdns"
)

// called is the name that tablets can type instead of numbers, where the network carries such names: multicast DNS, RFC
// 6762. It is a convenience only: a guest network often lets none of it through, and the addresses are good always.
type called struct {
	name    string // without .local; empty: none
	servers []*mdns.Server
}

// check tells whether the name can be one: a label of RFC 1123.
func (c *called) check() error {
	if c.name == "" {
		return nil
	}
	c.name = strings.TrimSuffix(strings.ToLower(c.name), ".local")
	if len(c.name) > 63 || strings.Trim(c.name, "abcdefghijklmnopqrstuvwxyz0123456789-") != "" || strings.Trim(c.name, "-") != c.name {
		return misuse("write --announce taillamp, and tablets open http://taillamp.local:5550/", "serve: --announce cannot be %q", c.name)
	}
	return nil
}

// hang has the name answered on every network card that tablets can reach, or on that of the one address that is
// listened at.
func (c *called) hang(at *net.TCPAddr) error {
	if c.name == "" {
		return nil
	}
	cards, err := net.Interfaces()
	if err != nil {
		return err
	}
	fault := errors.New("no network card carries it")
	for _, card := range cards {
		if card.Flags&net.FlagUp == 0 || inner(card.Name) || at.IP.IsUnspecified() && card.Flags&net.FlagLoopback != 0 {
			continue
		}
		on, err := card.Addrs()
		if err != nil {
			continue // the card went away meanwhile
		}
		if ips := reached(on, at.IP); len(ips) > 0 {
			if err := c.hangOn(card, ips, at.Port); err != nil {
				fault = err
			}
		}
	}
	if len(c.servers) == 0 {
		return fault
	}
	return nil
}

// reached are the addresses of a card at which the listener is reached.
func reached(on []net.Addr, at net.IP) []net.IP {
	var ips []net.IP
	for _, a := range on {
		p, err := netip.ParsePrefix(a.String())
		if err != nil || p.Addr().IsLinkLocalUnicast() {
			continue
		}
		if ip := net.IP(p.Addr().Unmap().AsSlice()); at.IsUnspecified() || at.Equal(ip) {
			ips = append(ips, ip)
		}
	}
	return ips
}

func (c *called) hangOn(card net.Interface, ips []net.IP, port int) error {
	zone, err := mdns.NewMDNSService(c.name, "_http._tcp", "local.", c.name+".local.", port, ips, []string{"path=/"})
	if err != nil {
		return err
	}
	s, err := mdns.NewServer(&mdns.Config{Zone: zone, Iface: &card, Logger: log.New(io.Discard, "", 0)})
	if err != nil {
		return err
	}
	c.servers = append(c.servers, s)
	return nil
}

// Close takes the name down.
func (c *called) Close() error {
	var faults []error
	for _, s := range c.servers {
		faults = append(faults, s.Shutdown())
	}
	return errors.Join(faults...)
}

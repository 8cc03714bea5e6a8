package main

import (
	"cmp"
	"net"
	"net/netip"
	"slices"
	"strconv"
	"strings"
)

// address is one at which tablets find this machine.
type address struct {
	url   string
	by    string // the name of the network card, or "this machine only"
	place int    // the nearest to the layout's own network first
}

// addresses lists one for every network card that is up, those of the layout's own network first. Of a listener that
// was told one host there is just that.
func addresses(scheme string, at *net.TCPAddr) ([]address, error) {
	if !at.IP.IsUnspecified() {
		return []address{of(scheme, at.AddrPort().Addr().Unmap(), at.Port, "")}, nil
	}
	cards, err := net.Interfaces()
	if err != nil {
		return nil, could("", "the network cards of this machine cannot be listed: %s", err)
	}
	var all []address
	for _, card := range cards {
		if card.Flags&net.FlagUp == 0 {
			continue
		}
		on, err := card.Addrs()
		if err != nil {
			continue // the card went away meanwhile
		}
		if ip, ok := best(on); ok {
			all = append(all, of(scheme, ip, at.Port, card.Name))
		}
	}
	slices.SortStableFunc(all, func(a, b address) int { return cmp.Compare(a.place, b.place) })
	return all, nil
}

// best is the address of a card that is easiest to type: of the old four numbers if it has one. An address that is
// good on its own cable only cannot be written in a browser.
func best(on []net.Addr) (netip.Addr, bool) {
	var found netip.Addr
	for _, a := range on {
		p, err := netip.ParsePrefix(a.String())
		if err != nil || p.Addr().IsLinkLocalUnicast() {
			continue
		}
		if ip := p.Addr().Unmap(); !found.IsValid() || ip.Is4() && !found.Is4() {
			found = ip
		}
	}
	return found, found.IsValid()
}

func of(scheme string, ip netip.Addr, port int, card string) address {
	a := address{url: scheme + "://" + net.JoinHostPort(ip.String(), strconv.Itoa(port)) + "/", by: card}
	switch {
	case ip.IsLoopback():
		a.by, a.place = "this machine only", 3
	case inner(card):
		a.place = 2
	case !ip.Is4() || !ip.IsPrivate():
		a.place = 1
	}
	return a
}

// inner tells whether a card is one that programs on this machine made for themselves: no tablet can reach it.
func inner(card string) bool {
	for _, made := range []string{"docker", "br-", "veth", "virbr", "podman", "cni", "tailscale", "zt"} {
		if strings.HasPrefix(card, made) {
			return true
		}
	}
	return false
}

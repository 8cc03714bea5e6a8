//go:build fleet && linux

package web_test

import (
	"net"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// Two people work a train at real pages whose process has not got their sitting. The one that has it is killed with the
// train in the section: both pages say that the line is dead and come back by themselves as they were; so they do when the
// engine is gone and comes back. The train is worked to its end. Pictures go into TAILLAMP_SHOTS, where that names a folder (B4, C10).
func TestFleetPagesComeBack(t *testing.T) {
	b := browser(t)
	c := newCluster(t, 1)
	c.launch()
	c.launch()
	door, owner := c.procs[0], c.procs[1]
	var name string
	for _, n := range c.begin(8) {
		if c.directory.Owner(n) == owner.name {
			name = n
		}
	}
	require.NotEmpty(t, name, "a sitting falls to the second process")
	_, port, err := net.SplitHostPort(door.at)
	require.NoError(t, err)
	at := "http://" + shed + ":" + port
	shoot := func(p *tab, picture string) {
		if folder := os.Getenv("TAILLAMP_SHOTS"); folder != "" {
			p.shoot(folder, picture)
		}
	}
	ul := tablet(t, b, "Ullathwick", at, 1024, 768)
	require.Equal(t, "Sittings under way", eval[string](ul, `document.querySelector("h1").textContent`))
	require.Empty(t, eval[[]string](ul, smallTargets), "what is touched is large enough (Q4)")
	shoot(ul, "sittings")
	ul.press(`a[href="/s/` + name + `/"]`)
	ul.until(`document.querySelector("button.take")`)
	far := tablet(t, b, "Ossenwaite", at+"/s/"+name+"/", 1024, 768)
	ul.takeDuty("UL")
	far.takeDuty("OS")
	accept(ul, far, "3-1")
	ul.ring(far, pair, "2")
	far.ring(ul, pair, "2")
	far.turn(down, "occupied")
	far.shows(down, "occupied")
	ul.shows(down, "occupied")
	before := []string{ul.present(), far.present()}
	owner.kill()
	for _, tab := range []*tab{ul, far} {
		tab.until(`!document.querySelector(".strip.away").hidden`)
	}
	shoot(ul, "between")
	for _, tab := range []*tab{ul, far} {
		tab.until(`document.querySelector(".strip.away").hidden && taillampShelf.wire.ready`)
	}
	require.Equal(t, before, []string{ul.present(), far.present()}, "the state is as it was")
	c.killNode(0) // and then the engine itself is gone for a while
	for _, tab := range []*tab{ul, far} {
		tab.until(`!document.querySelector(".strip.away").hidden`)
	}
	c.startNode(0)
	for _, tab := range []*tab{ul, far} {
		tab.until(`document.querySelector(".strip.away").hidden && taillampShelf.wire.ready`)
	}
	require.Equal(t, before, []string{ul.present(), far.present()}, "nor has that changed anything")
	clear(ul, far)
	there, here := far.booked(), ul.booked()
	require.NotEmpty(t, there["out_of_section_sent"])
	require.Equal(t, there["out_of_section_sent"], here["out_of_section_received"])

	key := c.directory.Evenings()[name].Owner
	boss := tablet(t, b, "the owner", at+"/s/"+name+"/?to=owner#"+key, 1024, 768)
	boss.until(`location.pathname === "/s/` + name + `/owner" && document.querySelector("h1")`)
}

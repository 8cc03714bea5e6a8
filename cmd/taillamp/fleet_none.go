//go:build !fleet

package main

import (
	"context"
	"embed"
	"log/slog"
	"net"
	"net/http"
	"time"

	"taillamp/web/sitting"
)

// fleetBuilt tells whether several machines can share this program's sittings.
const fleetBuilt = false

func (s *sharing) serve(context.Context, choice, net.Listener, fromHome, *slog.Logger, stdio) error {
	return notBuiltForFleet
}

func runCarry(_ context.Context, _ []string, std stdio) int { return complain(std, notBuiltForFleet) }

// fleetLicences are those of what this build has not.
var fleetLicences embed.FS

// measures counts nothing in this build.
type measures struct{}

func newMeasures() measures { return measures{} }

func (measures) keeper(k sitting.Keeper) sitting.Keeper { return k }

func (measures) carried() func(bool, time.Duration) { return nil }

func (measures) door(h http.Handler) http.Handler { return h }

//go:build fleet

package main

import "embed"

// fleetLicences are the terms of what only a program has that shares its sittings.
//
//go:embed licences/fleet/*.txt
var fleetLicences embed.FS

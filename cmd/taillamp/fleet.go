package main

import (
	"flag"
	"slices"
)

// sharing is how the program shares its sittings with others of its kind: by flags, all of which may be empty.
type sharing struct {
	engine string // addresses of an engine, or "embedded"; empty: it shares nothing
	peers  string // of nodes of its own, this one's first
	key    string // file of the secret that the nodes have in common
	listen string // where the node takes processes elsewhere
}

func (s *sharing) flags(fs *flag.FlagSet) {
	fs.StringVar(&s.engine, "fleet", "", "")
	fs.StringVar(&s.peers, "peers", "", "")
	fs.StringVar(&s.key, "peers-key", "", "")
	fs.StringVar(&s.listen, "engine", "", "")
}

// alongside are the flags that go with --fleet. The others are of one shed, its loudspeaker and its instruments.
var alongside = []string{"fleet", "peers", "peers-key", "engine", "listen", "dir", "layout", "fresh", "cert", "key"}

// check refuses what does not go together.
func (s *sharing) check(fs *flag.FlagSet) error {
	var wrong error
	fs.Visit(func(f *flag.Flag) {
		switch {
		case s.engine != "" && !slices.Contains(alongside, f.Name):
			wrong = misuse("leave one of the two out", "serve: --%s is for one machine alone and does not go with --fleet", f.Name)
		case s.engine != "embedded" && (f.Name == "peers" || f.Name == "peers-key" || f.Name == "engine"):
			wrong = misuse("write --fleet embedded --"+f.Name+" …", "serve: --%s is of an engine that comes with the program", f.Name)
		}
	})
	if wrong == nil && s.engine != "" && !fleetBuilt {
		return notBuiltForFleet
	}
	return wrong
}

// notBuiltForFleet is what a program says that has no engine in it.
var notBuiltForFleet = fault{code: exitUsage, what: "this taillamp works on one machine alone: it was built without what several share",
	hint: "build one that has it: go build -tags fleet ./cmd/taillamp"}

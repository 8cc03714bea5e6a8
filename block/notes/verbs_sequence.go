package notes

import (
	"fmt"

	"taillamp/block"
)

// addSequence are the owner's changes of the sequence of trains. A train is added to run as another that is in it, of that
// one's class or of the class of a code, and stands at a time of day or next behind a train.
func addSequence(add func(string, func(*parser, map[string]word) error)) {
	for _, to := range []struct{ words, moved string }{{"at TIME", "to TIME"}, {"behind M", "behind M"}} {
		add("train N is added "+to.words+" like K", resequences(func(g map[string]word, to block.Slot) (block.Event, error) {
			return block.AddTrain(trainOf(g, "N"), trainOf(g, "K"), to), nil
		}))
		add("train N is added "+to.words+" like K as CODE", resequences(func(g map[string]word, to block.Slot) (block.Event, error) {
			beats, err := parseBeats(g["CODE"].text)
			return block.AddTrainOf(trainOf(g, "N"), trainOf(g, "K"), beats, to), err
		}))
		add("train N is moved "+to.moved, resequences(func(g map[string]word, to block.Slot) (block.Event, error) {
			return block.MoveTrain(trainOf(g, "N"), to), nil
		}))
	}
	add("train N is withdrawn", func(p *parser, g map[string]word) error {
		p.add(block.Withdraw(trainOf(g, "N")))
		return nil
	})
}

func trainOf(g map[string]word, what string) block.TrainID { return block.TrainID(g[what].text) }

// resequences reads the place in the sequence that a line names.
func resequences(make func(map[string]word, block.Slot) (block.Event, error)) func(*parser, map[string]word) error {
	return func(p *parser, g map[string]word) error {
		to := block.Slot{Behind: trainOf(g, "M")}
		if at, ok := g["TIME"]; ok {
			var err error
			if to, err = block.ParseSlot("at " + at.text); err != nil {
				return fmt.Errorf("%q is no time of day; write it as 9:41 or 09:41:05", at.text)
			}
		}
		e, err := make(g, to)
		if err == nil {
			p.add(e)
		}
		return err
	}
}

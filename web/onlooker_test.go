package web

import (
	"testing"

	"github.com/stretchr/testify/require"

	"taillamp/block"
)

// J1: every class of train of every book that comes along has words that a visitor knows for a train; none is empty.
func TestEveryClassHasWordsForVisitors(t *testing.T) {
	for _, name := range block.BookNames() {
		b, err := block.FindCodeBook(name)
		require.NoError(t, err)
		for _, c := range b.Codes {
			if c.Train {
				words := trainWords(c.Means)
				require.NotContains(t, words, ";")
				require.LessOrEqual(t, len(words), 60, words)
				require.Regexp(t, `(train|engine|bus|stock|wagons|trolley|car)`, words)
			}
		}
	}
	require.Equal(t, "express passenger train", trainWords("express passenger; newspaper; breakdown train"))
	require.Equal(t, "light engine", trainWords("light engine or engines, with or without brake vans"))
	require.Equal(t, "empty coaching stock", trainWords("empty coaching stock"))
	require.Equal(t, "train", trainWords(""))
}

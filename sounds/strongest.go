package sounds

import (
	"cmp"
	"slices"
)

// Strongest lists the n strongest partials, and any that are as strong as the last of them.
func (v Voice) Strongest(n int) []Partial {
	all := slices.Clone(v.Partials)
	slices.SortStableFunc(all, func(p, q Partial) int { return cmp.Compare(q.Gain, p.Gain) })
	if len(all) <= n {
		return all
	}
	for n < len(all) && all[n].Gain == all[n-1].Gain {
		n++
	}
	return all[:n]
}

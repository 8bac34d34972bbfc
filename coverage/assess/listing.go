package assess

import (
	"iter"

	"lapwing/geo/plane"
)

// A Listing says which patches are large enough to list. A patch's number is its
// place among all patches, listed or not, counted from 1, the largest first. So a
// patch keeps its number whatever sizes are listed, and the list has holes where a
// patch is left out that is larger than another in it.
type Listing struct {
	large []bool // by index
}

func newListing(n int, large func(i int) bool) Listing {
	l := Listing{make([]bool, n)}
	for i := range l.large {
		l.large[i] = large(i)
	}
	return l
}

// Each yields the numbers of the listed patches and their indices, in the order
// of the list.
func (l Listing) Each() iter.Seq2[int, int] {
	return func(yield func(number, i int) bool) {
		for i, large := range l.large {
			if large && !yield(i+1, i) {
				return
			}
		}
	}
}

// Small is how many patches are too small to list, and whether numbers are missing
// in the list for that.
func (l Listing) Small() (count int, holes bool) {
	for _, large := range l.large {
		if large {
			holes = holes || count > 0
		} else {
			count++
		}
	}
	return count, holes
}

// By returns the numbers of all patches, small ones too, by what key gives for a
// patch's index.
func (l Listing) By(key func(i int) int) map[int]int {
	numbers := make(map[int]int, len(l.large))
	for i := range l.large {
		numbers[key(i)] = i + 1
	}
	return numbers
}

// Skips lists Map.Skips.
func (a *Assessment) Skips() Listing {
	return newListing(len(a.Map.Skips), func(i int) bool {
		s := &a.Map.Skips[i]
		return s.Area >= a.MinArea && s.Width >= plane.Distance(a.MinWidth)
	})
}

// Overlaps lists Map.Overlaps.
func (a *Assessment) Overlaps() Listing {
	return newListing(len(a.Map.Overlaps), func(i int) bool {
		return a.Map.Overlaps[i].Area >= a.MinArea
	})
}

// Mistakes are the indices into Map.Skips of the listed skips that are a mistake,
// and not just ground still to be worked, or the outline's; the largest first.
func (a *Assessment) Mistakes() []int {
	var out []int
	for _, i := range a.Skips().Each() {
		if a.Map.Skips[i].Mistake() {
			out = append(out, i)
		}
	}
	return out
}

// SkipNumbers returns the number that each skip has, by its index into Map.Skips.
func (a *Assessment) SkipNumbers() map[int]int {
	return a.Skips().By(func(i int) int { return i })
}

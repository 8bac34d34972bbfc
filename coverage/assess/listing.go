package assess

import (
	"iter"

	"lapwing/coverage"
)

// A Listing numbers patches from 1: those that are large enough to list first,
// then the small ones, both from the largest down.
type Listing struct {
	order  []int // indices of patches; that at order[n] has the number n + 1
	listed int   // how many of order are large enough to list
}

func newListing(n int, large func(i int) bool) Listing {
	var l Listing
	var small []int
	for i := range n {
		if large(i) {
			l.order = append(l.order, i)
		} else {
			small = append(small, i)
		}
	}
	l.listed = len(l.order)
	l.order = append(l.order, small...)
	return l
}

// Each yields the numbers of the listed patches and their indices, in the order
// of the list.
func (l Listing) Each() iter.Seq2[int, int] {
	return func(yield func(number, i int) bool) {
		for n, i := range l.order[:l.listed] {
			if !yield(n+1, i) {
				return
			}
		}
	}
}

// Small is how many patches are too small to list.
func (l Listing) Small() int { return len(l.order) - l.listed }

// By returns the numbers of all patches, small ones too, by what key gives for a
// patch's index.
func (l Listing) By(key func(i int) int) map[int]int {
	numbers := make(map[int]int, len(l.order))
	for n, i := range l.order {
		numbers[key(i)] = n + 1
	}
	return numbers
}

// Skips numbers Map.Skips.
func (a *Assessment) Skips() Listing {
	return newListing(len(a.Map.Skips), func(i int) bool {
		s := &a.Map.Skips[i]
		return s.Area >= a.MinArea && s.Width >= float64(a.MinWidth)
	})
}

// Overlaps numbers Map.Overlaps.
func (a *Assessment) Overlaps() Listing {
	return newListing(len(a.Map.Overlaps), func(i int) bool {
		return a.Map.Overlaps[i].Area >= a.MinArea
	})
}

// Mistakes are the indices into Map.Skips of the listed skips that are a mistake,
// and not just ground still to be worked; the largest first.
func (a *Assessment) Mistakes() []int {
	var out []int
	for _, i := range a.Skips().Each() {
		if a.Map.Skips[i].Cause != coverage.Unworked {
			out = append(out, i)
		}
	}
	return out
}

// SkipNumbers returns the number that each skip has, by its index into Map.Skips.
func (a *Assessment) SkipNumbers() map[int]int {
	return a.Skips().By(func(i int) int { return i })
}

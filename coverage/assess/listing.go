package assess

import "lapwing/coverage"

// A Listing numbers patches: order holds indices of patches, the listed ones
// first, and the patch at order[i] has the number i + 1.
type Listing struct {
	Order  []int
	Listed int // how many of order are large enough to list
}

func newListing(n int, large func(i int) bool) Listing {
	var l Listing
	var small []int
	for i := range n {
		if large(i) {
			l.Order = append(l.Order, i)
		} else {
			small = append(small, i)
		}
	}
	l.Listed = len(l.Order)
	l.Order = append(l.Order, small...)
	return l
}

// ByRegion returns the number of the patch of each region that has one.
func (l Listing) ByRegion(region func(i int) int) map[int]int {
	numbers := make(map[int]int, len(l.Order))
	for n, i := range l.Order {
		numbers[region(i)] = n + 1
	}
	return numbers
}

func (a *Assessment) Skips() Listing {
	return newListing(len(a.Map.Skips), func(i int) bool {
		s := &a.Map.Skips[i]
		return s.Area >= a.MinArea && s.Width >= float64(a.MinWidth)
	})
}

func (a *Assessment) Overlaps() Listing {
	return newListing(len(a.Map.Overlaps), func(i int) bool {
		return a.Map.Overlaps[i].Area >= a.MinArea
	})
}

// Mistakes counts the listed skips that are not just ground still to be
// worked, and gives the index of the largest.
func (a *Assessment) Mistakes() (largest, n int) {
	l := a.Skips()
	largest = -1
	for _, i := range l.Order[:l.Listed] {
		if a.Map.Skips[i].Cause != coverage.Unworked {
			if n++; largest < 0 {
				largest = i
			}
		}
	}
	return largest, n
}

// EachSkip calls f for every listed skip that is a mistake and no ground still
// to be worked: its index into Map.Skips.
func (a *Assessment) EachSkip(f func(i int)) {
	l := a.Skips()
	for _, i := range l.Order[:l.Listed] {
		if a.Map.Skips[i].Cause != coverage.Unworked {
			f(i)
		}
	}
}

// SkipNumbers returns the number that each skip has in the lists, by its index
// into Map.Skips.
func (a *Assessment) SkipNumbers() map[int]int {
	return a.Skips().ByRegion(func(i int) int { return i })
}

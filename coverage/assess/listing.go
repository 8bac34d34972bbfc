package assess

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

func (r *Assessment) Skips() Listing {
	return newListing(len(r.Map.Skips), func(i int) bool {
		s := &r.Map.Skips[i]
		return s.Area >= r.MinArea && s.Width >= float64(r.MinWidth)
	})
}

func (r *Assessment) Overlaps() Listing {
	return newListing(len(r.Map.Overlaps), func(i int) bool {
		return r.Map.Overlaps[i].Area >= r.MinArea
	})
}

// Mistakes counts the listed skips that are not just ground still to be
// worked, and gives the index of the largest.
func (r *Assessment) Mistakes() (largest, n int) {
	l := r.Skips()
	largest = -1
	for _, i := range l.Order[:l.Listed] {
		if !r.Map.Skips[i].Unworked() {
			if n++; largest < 0 {
				largest = i
			}
		}
	}
	return largest, n
}

// EachSkip calls f for every listed skip that is a mistake and no ground still
// to be worked: its index into Map.Skips.
func (r *Assessment) EachSkip(f func(i int)) {
	l := r.Skips()
	for _, i := range l.Order[:l.Listed] {
		if !r.Map.Skips[i].Unworked() {
			f(i)
		}
	}
}

// SkipNumbers returns the number that each skip has in the lists, by its index
// into Map.Skips.
func (r *Assessment) SkipNumbers() map[int]int {
	return r.Skips().ByRegion(func(i int) int { return i })
}

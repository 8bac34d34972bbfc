package office

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// A slower lets each of many do something so often, and no oftener: a name that is signed
// in by, an address, a person.
type slower struct {
	every time.Duration
	burst int
	now   func() time.Time

	mu sync.Mutex
	of map[string]*rate.Limiter
}

// most is how many a slower remembers; then it forgets those that have all their turns back.
const most = 10_000

func newSlower(every time.Duration, burst int, now func() time.Time) *slower {
	return &slower{every: every, burst: burst, now: now, of: map[string]*rate.Limiter{}}
}

// take takes a turn of one, and returns how long they have to wait for one; 0 if not.
func (s *slower) take(one string) time.Duration {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now()
	l := s.of[one]
	if l == nil {
		if len(s.of) >= most {
			for other, l := range s.of {
				if l.TokensAt(now) >= float64(s.burst) {
					delete(s.of, other)
				}
			}
			if len(s.of) >= most {
				return s.every // so many at once are no people
			}
		}
		l = rate.NewLimiter(rate.Every(s.every), s.burst)
		s.of[one] = l
	}
	r := l.ReserveN(now, 1)
	if wait := r.DelayFrom(now); wait > 0 {
		r.CancelAt(now)
		return wait
	}
	return 0
}

// giveBack gives one all their turns back.
func (s *slower) giveBack(one string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.of, one)
}

package cab

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"time"

	"lapwing/cmd/lapwing/crew"
	"lapwing/coverage/live"
	"lapwing/geo/journal"
)

// A sharer is a cab that --share names, which is asked for its journals.
type sharer struct {
	client    *crew.Client
	cab, run  string              // as it told last; "" before it did
	contact   time.Time           // when it last told; zero for never
	trouble   string              // why it does not tell now; "" while it does
	gone      bool                // the trouble is that no net leads to it
	told      []guestKey          // the machines of its last listing
	elsewhere map[guestKey]string // the machines whose ground is not on this field, and how far off
	said      map[string]bool     // the warnings about it, each of which is given once
}

const (
	// pollEvery is how often another cab is asked while it answers: as often as it syncs.
	pollEvery = time.Second
	// longestWait is how long a cab that does not answer is left alone, at most. Judgement: so
	// long after the net is back its ground may be missing.
	longestWait = 10 * time.Second
	// mostAtOnce is how many bytes of one journal are asked for at once, so that a copy that
	// is far behind does not keep the others back: a minute at 10 Hz.
	mostAtOnce = 64 << 10
	// tailLen is how much of a copy's end is asked for again, to tell that the journal
	// goes on there: some records.
	tailLen = 512
)

// follow asks another cab until ctx is done.
func (k *Cab) follow(ctx context.Context, s *sharer) {
	wait := pollEvery / 2
	for {
		more, err := k.ask(ctx, s)
		if ctx.Err() != nil {
			return
		}
		switch k.on(ctx, func() { k.heardFrom(s, err) }); {
		case err != nil:
			wait = min(longestWait, 2*wait)
		case more:
			wait = 0
		default:
			wait = pollEvery
		}
		select {
		case <-time.After(time.Duration(float64(wait) * (0.8 + 0.4*rand.Float64()))): // so that not all ask at once
		case <-ctx.Done():
			return
		}
		wait = max(wait, pollEvery/2)
	}
}

// heardFrom notes whether another cab answers, and says so when that changes.
func (k *Cab) heardFrom(s *sharer, err error) {
	now, gone := "", false
	if err != nil {
		now, gone = crew.Reason(err), crew.OutOfReach(err)
	} else {
		s.contact = time.Now()
	}
	was, wasGone := s.trouble, s.gone
	s.trouble, s.gone = now, gone
	k.changed.wake()
	switch {
	case now == was || gone && wasGone: // no net is one trouble, in whichever words
	case now == "":
		fmt.Fprintf(k.stderr, "cab: --share %s: it answers again\n", s.client.Address())
	default:
		fmt.Fprintf(k.stderr, "cab: --share %s: %s; the cab goes on without it, and tries again\n", s.client.Address(), now)
	}
}

// ask asks another cab once, and takes what it has. more says that it has more.
func (k *Cab) ask(ctx context.Context, s *sharer) (more bool, err error) {
	list, err := s.client.List(ctx)
	if err != nil {
		return false, err
	}
	var guests []*guest
	var lines []string
	for i := range list.Machines {
		if m := &list.Machines[i]; m.Cab != k.crew.self.Cab {
			g, err := guestOf(m)
			if err != nil {
				lines = append(lines, err.Error()+"; it is left out")
				continue
			}
			guests = append(guests, g)
		}
	}
	var wanted []*copyOf
	var wrong error
	if !k.on(ctx, func() {
		for _, line := range lines {
			k.sayOnce(s, line)
		}
		wanted, wrong = k.listed(s, list, guests)
	}) {
		return false, ctx.Err()
	}
	defer func() {
		k.on(ctx, func() {
			for _, c := range wanted {
				c.busy = false
			}
		})
	}()
	if wrong != nil {
		return false, wrong
	}
	for _, c := range wanted {
		goesOn, err := k.takeFrom(ctx, s, c)
		if err != nil {
			return false, err
		}
		more = more || goesOn
	}
	if list.Takes {
		err = k.bring(ctx, s)
	}
	return more, err
}

// bring brings a relay what this cab wrote since it did so last.
func (k *Cab) bring(ctx context.Context, s *sharer) error {
	own, ok := k.ownListing(ctx)
	if !ok {
		return ctx.Err()
	}
	return s.client.Bring(ctx, own, func(of crew.Key) (*crew.Opened, bool) { return k.openJournal(ctx, of) })
}

// An errShare says why nothing at all is taken from another cab.
type errShare string

func (e errShare) Error() string { return string(e) }

// listed takes in the listing of another cab, and returns the copies that it has more of,
// those with the newest ground first.
func (k *Cab) listed(s *sharer, list *crew.Listing, guests []*guest) ([]*copyOf, error) {
	switch {
	case list.Run == k.crew.run:
		return nil, errShare("it is this cab itself")
	case list.Cab == k.crew.self.Cab:
		return nil, errShare("its journals lie in a copy of this cab's directory, and both are one cab to others: remove " + thisCabFile + " there and start it again")
	}
	for _, o := range k.crew.sharers {
		if o != s && o.cab == list.Cab && o.run != list.Run && time.Since(o.contact) < 6*longestWait && o.trouble == "" {
			return nil, errShare(fmt.Sprintf("its journals lie in a copy of the directory of %s, and both are one cab to others: remove %s there and start it again", o.client.Address(), thisCabFile))
		}
	}
	s.cab, s.run = list.Cab, list.Run
	if list.Drives {
		k.sayOnce(s, "the key given drives that cab; the one that only looks is enough")
	}
	if err := k.meet(guests); err != nil {
		return nil, err
	}
	s.told = s.told[:0]
	var wanted []*copyOf
	for i := range list.Journals {
		e := &list.Journals[i]
		if e.Cab == k.crew.self.Cab {
			continue
		}
		c := k.copyBy(e)
		k.told(c, e)
		if !slices.Contains(s.told, c.guest()) {
			s.told = append(s.told, c.guest())
		}
		if c.wrong == "" && c.identity != "" && c.identity != e.Identity {
			k.refuse(s, c, crew.ErrOther)
		}
		g := k.guestBy(c.guest())
		if g == nil {
			k.sayOnce(s, "it tells nothing of machine "+strconv.Quote(c.machine)+" of cab "+c.Cab+", whose journal is left out")
			continue
		}
		if k.isElsewhere(s, c, e) {
			continue
		}
		if err := k.comesNear(g); err != nil {
			return nil, err
		}
		if c.wrong != "" || c.busy || g.name == "" || e.Size <= c.size() || c.source >= 0 && c.journal == nil /* it is being recalled */ {
			continue
		}
		if c.journal != nil && c.journal.Status().Waiting > 0 {
			continue // the disk is full
		}
		c.busy, c.root = true, k.crew.roots[c.Cab]
		wanted = append(wanted, c)
	}
	slices.SortStableFunc(wanted, func(a, b *copyOf) int { return b.told.Until.Compare(a.told.Until) })
	return wanted, nil
}

// isElsewhere reports whether a journal has no ground near this field, and warns of that
// once.
func (k *Cab) isElsewhere(s *sharer, c *copyOf, e *crew.Entry) bool {
	x := e.Extent
	away, known := k.engine.Away(live.Extent{West: x[0], South: x[1], East: x[2], North: x[3]})
	if known && away == 0 || c.size() > 0 {
		return false
	}
	if known && s.elsewhere[c.guest()] == "" { // said once, though how far it is changes all the time
		text := fmt.Sprintf("not on this field but %s away; left out until it comes here", k.opt.Units.Length(away))
		s.elsewhere[c.guest()] = text
		k.sayOnce(s, "the ground of "+c.machine+" is "+text)
	}
	return true
}

// sayOnce warns of what another cab has, once. The warning stands in cab.json too.
func (k *Cab) sayOnce(s *sharer, line string) {
	if !s.said[line] {
		s.said[line] = true
		fmt.Fprintf(k.stderr, "warning: --share %s: %s\n", s.client.Address(), line)
	}
}

// refuse has nothing more taken of a journal, and says why.
func (k *Cab) refuse(s *sharer, c *copyOf, why error) {
	c.wrong = crew.Reason(why)
	k.sayOnce(s, c.path+": "+c.wrong)
	k.changed.wake()
}

// takeFrom takes what comes after the end of a copy. more says that there may be more.
func (k *Cab) takeFrom(ctx context.Context, s *sharer, c *copyOf) (more bool, err error) {
	if c.journal == nil {
		if k.recall(c); c.journal == nil {
			return false, nil
		}
	}
	tail, end, err := c.journal.Tail(tailLen)
	if err != nil {
		return false, err
	}
	var e crew.Entry
	if !k.on(ctx, func() { e = c.told }) {
		return false, ctx.Err()
	}
	e.Identity = c.identity
	var came int64
	err = s.client.Read(ctx, &e, end, tail, mostAtOnce, func(p journal.Piece) error {
		var err error
		if !k.on(ctx, func() { err = k.takePiece(c, &p) }) {
			return ctx.Err()
		}
		came += int64(len(p.Lines))
		return err
	})
	var damage *journal.Damage
	switch {
	case errors.Is(err, crew.ErrNothing):
		return false, nil
	case errors.Is(err, crew.ErrOther), errors.As(err, &damage):
		k.on(ctx, func() { k.refuse(s, c, err) })
		return false, nil
	}
	return end+came < e.Size, err
}

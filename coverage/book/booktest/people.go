package booktest

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"lapwing/coverage/book"
)

// A Crowd is a book that is open to people, and some of them: Max manages the whole book,
// Ada manages Aspen, Al looks at it, Bo works for Birch, and Cy may do nothing.
type Crowd struct {
	Owner                book.Owned
	Book                 book.Served
	Max, Ada, Al, Bo, Cy int64
	Aspen, Birch         int64
	North, South         *book.Sought // the job of Aspen and that of Birch
}

// as is a test's context in which somebody asks of all their farms.
func as(t testing.TB, person int64) context.Context {
	return book.As(t.Context(), book.Asks{Person: person})
}

// at is as, of one farm.
func at(t testing.TB, person, farm int64) context.Context {
	return book.As(t.Context(), book.Asks{Person: person, Farm: farm})
}

// NewCrowd opens a book that is not there yet to people. Each farm has one job, put by who
// works for it.
func NewCrowd(t testing.TB, owner book.Owned, serve func() book.Served) *Crowd {
	t.Helper()
	require.NoError(t, owner.AddManager(t.Context(), book.NewPerson{SignIn: "Max", Name: "Max", Password: "kept so"}))
	c := &Crowd{Owner: owner, Book: serve()}
	who, err := c.Book.PersonWhoSignsIn(t.Context(), "max")
	require.NoError(t, err)
	c.Max = who.ID
	for name, id := range map[string]*int64{"Ada": &c.Ada, "Al": &c.Al, "Bo": &c.Bo, "Cy": &c.Cy} {
		*id, err = c.Book.AddPerson(as(t, c.Max), book.NewPerson{SignIn: name, Name: name, Password: name + "'s"})
		require.NoError(t, err)
	}
	c.Aspen, err = c.Book.AddFarm(as(t, c.Max), "Aspen")
	require.NoError(t, err)
	c.Birch, err = c.Book.AddFarm(as(t, c.Max), "Birch")
	require.NoError(t, err)
	require.NoError(t, c.Book.Allow(as(t, c.Max), "ada", c.Aspen, book.MayManage))
	require.NoError(t, c.Book.Allow(as(t, c.Ada), "al", c.Aspen, book.MayLook))
	require.NoError(t, c.Book.Allow(as(t, c.Max), "bo", c.Birch, book.MayWork))
	c.North = c.put(t, c.Ada, c.Aspen, "one", north)
	c.South = c.put(t, c.Bo, c.Birch, "two", south)
	return c
}

// put puts the job of a name, at a place of a farm that is called as it.
func (c *Crowd) put(t testing.TB, person, farm int64, name string, works ...work) *book.Sought {
	t.Helper()
	job := sought(name)
	require.NoError(t, c.Book.AddFile(at(t, person, farm), job.Files[0], reading(bytesOf(name))))
	require.NoError(t, c.Book.Put(at(t, person, farm), place(farm, name), job, partsOf(t, works)))
	return job
}

func place(farm int64, name string) string { return fmt.Sprintf("farm:%d/%s", farm, name) }

func partsOf(t testing.TB, works []work) (parts []*book.Part) {
	t.Helper()
	for _, w := range works {
		parts = append(parts, w.part(t))
	}
	return parts
}

// RunServed tries a kind of book that is open to people. fresh returns one that is not
// there yet, as who owns it has it, and what opens it to people.
func RunServed(t *testing.T, fresh func(t *testing.T) (book.Owned, func() book.Served)) {
	for name, try := range map[string]func(*testing.T, *Crowd){
		"farms keep apart": apart, "one job of two farms": shared, "who may what": whoMayWhat, "the door": theDoor,
		"tokens": tokens, "links": links, "the audit trail": trail, "an end": anEnd, "the owner": theOwner,
		"features": features, "features keep apart": featuresApart, "features that are chosen": featuresChosen, "features in a box": featuresInABox, "tiles": tiles,
		"nitrogen wasted": wasted, "skips that come back": returns, "skips that come back whole": returnsWhole, "widths that are off": widths, "hours of operators": hours, "what sections save": sections, "the map of few fields": mapOfFew,
	} {
		t.Run(name, func(t *testing.T) {
			owner, serve := fresh(t)
			t.Cleanup(func() { owner.Close() })
			c := NewCrowd(t, owner, serve)
			t.Cleanup(func() { c.Book.Close() })
			try(t, c)
		})
	}
}

// fieldsOf are the names of what somebody sees standing.
func (c *Crowd) fieldsOf(t testing.TB, ctx context.Context) (names []string) {
	t.Helper()
	standing, all, err := c.Book.Standing(ctx, book.Choice{Most: 100})
	require.NoError(t, err)
	require.Len(t, standing, all)
	for _, s := range standing {
		names = append(names, s.Field)
	}
	return names
}

// apart: who may not look at a farm sees nothing of it, by whatever they ask, and puts
// nothing there.
func apart(t *testing.T, c *Crowd) {
	for _, of := range []struct {
		ctx  context.Context
		want []string
	}{
		{as(t, c.Ada), []string{"North"}}, {as(t, c.Al), []string{"North"}}, {as(t, c.Bo), []string{"South"}},
		{as(t, c.Cy), nil}, {as(t, 0), nil}, {as(t, 12345), nil}, {t.Context(), nil},
		{as(t, c.Max), []string{"North", "South"}}, {at(t, c.Max, c.Birch), []string{"South"}}, {at(t, c.Ada, c.Birch), nil},
	} {
		assert.ElementsMatch(t, of.want, c.fieldsOf(t, of.ctx))
		holds, err := c.Book.Holds(of.ctx)
		require.NoError(t, err)
		n := len(of.want)
		assert.Equal(t, []int{n, n, n, n}, []int{holds.Fields, holds.Assessments, holds.Machines, holds.Operators})
		for name, job := range map[string]*book.Sought{"North": c.North, "South": c.South} {
			sees := false
			for _, w := range of.want {
				sees = sees || w == name
			}
			_, err := c.Book.Job(of.ctx, job.Key)
			assert.Equal(t, sees, err == nil, "%s: %v", name, err)
			has, err := c.Book.Has(of.ctx, job.Key)
			require.NoError(t, err)
			assert.Equal(t, sees, has)
			file, err := c.Book.OpenFile(of.ctx, job.Files[0].SHA256)
			if assert.Equal(t, sees, err == nil, "%s: %v", name, err); err == nil {
				_, err = io.Copy(io.Discard, file)
				require.NoError(t, err)
				require.NoError(t, file.Close())
			} else {
				assert.ErrorIs(t, err, book.ErrNotFound)
			}
		}
	}
	_, err := c.Book.JobAt(as(t, c.Bo), place(c.Aspen, "one"))
	require.ErrorIs(t, err, book.ErrNotFound)

	before := holds(t, c.Owner)
	for name, ctx := range map[string]context.Context{
		"another's farm": at(t, c.Bo, c.Aspen), "only looks": at(t, c.Al, c.Aspen), "no farm": as(t, c.Bo), "nobody": t.Context(), "the other's place": at(t, c.Bo, c.Aspen),
	} {
		job := sought("three")
		require.Error(t, c.Book.AddFile(ctx, job.Files[0], reading(bytesOf("three"))), name)
		require.Error(t, c.Book.Put(ctx, place(c.Aspen, "one"), c.South, partsOf(t, []work{south})), name)
	}
	assert.Equal(t, before, holds(t, c.Owner))
	assert.Equal(t, []string{"North"}, c.fieldsOf(t, as(t, c.Ada)))
}

// shared: a job that two farms have is shown to each as its own, and what was found of it
// is taken from the book by whoever has its files.
func shared(t *testing.T, c *Crowd) {
	stored, err := c.Book.Stored(at(t, c.Bo, c.Birch), c.North.Key)
	require.NoError(t, err)
	require.Len(t, stored, 1)
	c.put(t, c.Bo, c.Birch, "one", north)
	assert.ElementsMatch(t, []string{"North", "South"}, c.fieldsOf(t, as(t, c.Bo)))
	assert.Equal(t, []string{"North"}, c.fieldsOf(t, as(t, c.Ada)))
	c.put(t, c.Ada, c.Aspen, "one", north) // again
	require.NoError(t, c.Book.Put(at(t, c.Ada, c.Aspen), place(c.Aspen, "one"), c.put(t, c.Ada, c.Aspen, "four", work{"West", home(9, 0), 2026, "drill A", "Ada", ""}), partsOf(t, []work{{"West", home(9, 0), 2026, "drill A", "Ada", ""}})))
	assert.Equal(t, []string{"West"}, c.fieldsOf(t, as(t, c.Ada)), "it stands there no longer")
	assert.ElementsMatch(t, []string{"North", "South"}, c.fieldsOf(t, as(t, c.Bo)), "here it does")
}

func whoMayWhat(t *testing.T, c *Crowd) {
	farms := func(person int64) map[string]book.May {
		t.Helper()
		list, err := c.Book.Farms(as(t, person))
		require.NoError(t, err)
		out := map[string]book.May{}
		for _, f := range list {
			out[f.Name] = f.May
		}
		return out
	}
	assert.Equal(t, map[string]book.May{"": book.MayManage, "Aspen": book.MayManage, "Birch": book.MayManage}, farms(c.Max))
	assert.Equal(t, map[string]book.May{"Aspen": book.MayManage}, farms(c.Ada))
	assert.Equal(t, map[string]book.May{"Birch": book.MayWork}, farms(c.Bo))
	assert.Empty(t, farms(c.Cy))

	people := func(person int64) (names []string) {
		t.Helper()
		list, err := c.Book.People(as(t, person))
		require.NoError(t, err)
		for _, p := range list {
			names = append(names, p.Name)
		}
		return names
	}
	assert.Equal(t, []string{"Ada", "Al", "Bo", "Cy", "Max"}, people(c.Max))
	assert.Equal(t, []string{"Ada", "Al"}, people(c.Ada))
	for _, person := range []int64{c.Al, c.Bo, c.Cy, 0} {
		_, err := c.Book.People(as(t, person))
		require.ErrorIs(t, err, book.ErrForbidden)
		_, err = c.Book.AddFarm(as(t, person), "Cedar")
		require.Error(t, err)
		_, err = c.Book.AddPerson(as(t, person), book.NewPerson{SignIn: "eve", Name: "Eve"})
		require.Error(t, err)
		require.Error(t, c.Book.End(as(t, person), c.Ada))
		require.Error(t, c.Book.SetPassword(as(t, person), c.Ada, "mine"))
		for _, farm := range []int64{c.Aspen, book.WholeBook} {
			require.Error(t, c.Book.Allow(as(t, person), "bo", farm, book.MayManage))
		}
	}
	// Who manages one farm manages that alone, and no person.
	require.Error(t, c.Book.Allow(as(t, c.Ada), "ada", c.Birch, book.MayLook))
	require.Error(t, c.Book.Allow(as(t, c.Ada), "ada", book.WholeBook, book.MayLook))
	require.Error(t, c.Book.SetPassword(as(t, c.Ada), c.Al, "mine"))
	_, err := c.Book.AddPerson(as(t, c.Ada), book.NewPerson{SignIn: "eve", Name: "Eve"})
	require.Error(t, err)
	require.ErrorIs(t, c.Book.Allow(as(t, c.Ada), "nobody", c.Aspen, book.MayLook), book.ErrNotFound)
	require.NoError(t, c.Book.Allow(as(t, c.Ada), "AL", c.Aspen, book.MayNothing))
	assert.Empty(t, c.fieldsOf(t, as(t, c.Al)))

	_, err = c.Book.AddPerson(as(t, c.Max), book.NewPerson{SignIn: "ADA", Name: "Another"})
	require.ErrorIs(t, err, book.ErrTaken)
	_, err = c.Book.AddFarm(as(t, c.Max), "Aspen")
	require.ErrorIs(t, err, book.ErrTaken)
}

// theDoor: who signs in, and sessions.
func theDoor(t *testing.T, c *Crowd) {
	who, err := c.Book.PersonWhoSignsIn(t.Context(), "ada")
	require.NoError(t, err)
	assert.Equal(t, book.Who{ID: c.Ada, Name: "Ada", Password: "Ada's"}, who)
	_, err = c.Book.PersonWhoSignsIn(t.Context(), "nobody")
	require.ErrorIs(t, err, book.ErrNotFound)
	require.NoError(t, c.Book.SetPassword(as(t, c.Ada), c.Ada, "another"))
	who, err = c.Book.PersonOf(t.Context(), c.Ada)
	require.NoError(t, err)
	assert.Equal(t, book.Who{ID: c.Ada, Name: "Ada", Password: "another", Stamp: 1}, who)
	require.NoError(t, c.Book.SetPassword(as(t, c.Max), c.Ada, "a third"))

	id, err := c.Book.AddPerson(as(t, c.Max), book.NewPerson{SignIn: "dee@example.org", Name: "Dee", Subject: "https://id.example 7"})
	require.NoError(t, err)
	who, err = c.Book.PersonOfSubject(t.Context(), "https://id.example 7")
	require.NoError(t, err)
	assert.Equal(t, book.Who{ID: id, Name: "Dee"}, who)
	_, err = c.Book.PersonOfSubject(t.Context(), "")
	require.ErrorIs(t, err, book.ErrNotFound, "people without a subject have none")

	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	require.NoError(t, c.Book.KeepSession(t.Context(), "a", []byte("one"), now.Add(time.Hour)))
	require.NoError(t, c.Book.KeepSession(t.Context(), "a", []byte("two"), now.Add(time.Hour)))
	require.NoError(t, c.Book.KeepSession(t.Context(), "b", []byte("b"), now.Add(time.Minute)))
	content, err := c.Book.Session(t.Context(), "a", now)
	require.NoError(t, err)
	assert.Equal(t, "two", string(content))
	_, err = c.Book.Session(t.Context(), "b", now.Add(time.Minute))
	require.ErrorIs(t, err, book.ErrNotFound, "its time is over")
	require.NoError(t, c.Book.EndSession(t.Context(), "a", now))
	_, err = c.Book.Session(t.Context(), "a", now)
	require.ErrorIs(t, err, book.ErrNotFound)
}

func hash(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

func tokens(t *testing.T, c *Crowd) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	require.NoError(t, c.Book.AddToken(as(t, c.Ada), book.Token{Name: "script", May: book.MayLook, Made: now, Ends: now.Add(time.Hour)}, hash("s")))
	who, may, err := c.Book.PersonOfToken(t.Context(), hash("s"), now)
	require.NoError(t, err)
	assert.Equal(t, c.Ada, who.ID)
	assert.Equal(t, book.MayLook, may)
	_, _, err = c.Book.PersonOfToken(t.Context(), hash("s"), now.Add(time.Hour))
	require.ErrorIs(t, err, book.ErrNotFound, "its time is over")
	_, _, err = c.Book.PersonOfToken(t.Context(), hash("other"), now)
	require.ErrorIs(t, err, book.ErrNotFound)
	for _, other := range []int64{c.Max, c.Bo, 0} {
		list, err := c.Book.Tokens(as(t, other))
		require.NoError(t, err)
		assert.Empty(t, list)
	}
	list, err := c.Book.Tokens(as(t, c.Ada))
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.True(t, now.Add(time.Hour).Equal(list[0].Ends))
	require.ErrorIs(t, c.Book.EndToken(as(t, c.Bo), list[0].ID), book.ErrNotFound)
	require.NoError(t, c.Book.EndToken(as(t, c.Ada), list[0].ID))
	_, _, err = c.Book.PersonOfToken(t.Context(), hash("s"), now)
	require.ErrorIs(t, err, book.ErrNotFound)
}

func links(t *testing.T, c *Crowd) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	link := book.Link{Farm: c.Aspen, Made: now, Ends: now.Add(24 * time.Hour)}
	require.NoError(t, c.Book.AddLink(at(t, c.Ada, c.Aspen), link, c.North.Key, 0, hash("l")))
	name, stored, err := c.Book.FieldOfLink(t.Context(), hash("l"), now)
	require.NoError(t, err)
	assert.Equal(t, "North", name)
	assert.Equal(t, north.part(t).Stored, stored)
	_, _, err = c.Book.FieldOfLink(t.Context(), hash("l"), now.Add(24*time.Hour))
	require.ErrorIs(t, err, book.ErrNotFound, "its day is over")

	require.Error(t, c.Book.AddLink(at(t, c.Al, c.Aspen), link, c.North.Key, 0, hash("m")), "who only looks")
	require.Error(t, c.Book.AddLink(at(t, c.Bo, c.Birch), link, c.North.Key, 0, hash("m")), "of another farm")
	link.Farm = c.Birch
	require.Error(t, c.Book.AddLink(at(t, c.Bo, c.Birch), link, c.North.Key, 0, hash("m")), "what does not stand there")
	require.Error(t, c.Book.AddLink(at(t, c.Bo, c.Birch), link, c.South.Key, 1, hash("m")), "a part that is not there")

	list, err := c.Book.Links(as(t, c.Bo), now)
	require.NoError(t, err)
	assert.Empty(t, list)
	list, err = c.Book.Links(as(t, c.Ada), now)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, "Ada", list[0].By)
	require.Error(t, c.Book.EndLink(as(t, c.Bo), list[0].ID))
	require.Error(t, c.Book.EndLink(as(t, c.Al), list[0].ID))
	require.NoError(t, c.Book.EndLink(as(t, c.Ada), list[0].ID))
	_, _, err = c.Book.FieldOfLink(t.Context(), hash("l"), now)
	require.ErrorIs(t, err, book.ErrNotFound)

	link.Farm = c.Aspen
	require.NoError(t, c.Book.AddLink(at(t, c.Ada, c.Aspen), link, c.North.Key, 0, hash("n")))
	require.NoError(t, c.Book.Put(at(t, c.Ada, c.Aspen), place(c.Aspen, "one"), c.put(t, c.Ada, c.Aspen, "four", north), partsOf(t, []work{north})))
	_, _, err = c.Book.FieldOfLink(t.Context(), hash("n"), now)
	require.ErrorIs(t, err, book.ErrNotFound, "what it led to stands no longer")
}

func trail(t *testing.T, c *Crowd) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	require.NoError(t, c.Book.Note(t.Context(), book.Note{At: now, Did: "was refused", Address: "192.0.2.1"}))
	require.NoError(t, c.Book.Note(as(t, c.Ada), book.Note{At: now, Person: c.Ada, Farm: c.Aspen, Did: "gave a link", About: "North", Address: "192.0.2.2"}))
	notes, err := c.Book.Notes(as(t, c.Max), 10)
	require.NoError(t, err)
	require.Len(t, notes, 2)
	assert.Equal(t, "Ada", notes[0].Name)
	assert.Equal(t, "was refused", notes[1].Did)
	notes, err = c.Book.Notes(as(t, c.Ada), 10)
	require.NoError(t, err)
	require.Len(t, notes, 1)
	assert.Equal(t, "North", notes[0].About)
	_, err = c.Book.Notes(as(t, c.Bo), 10)
	require.ErrorIs(t, err, book.ErrForbidden)
}

// anEnd: who is let in no more is nobody from then on.
func anEnd(t *testing.T, c *Crowd) {
	now := time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)
	require.NoError(t, c.Book.AddToken(as(t, c.Bo), book.Token{Name: "script", May: book.MayLook, Made: now, Ends: now.Add(time.Hour)}, hash("s")))
	require.NoError(t, c.Book.End(as(t, c.Max), c.Bo))
	_, err := c.Book.PersonWhoSignsIn(t.Context(), "bo")
	require.ErrorIs(t, err, book.ErrNotFound)
	_, err = c.Book.PersonOf(t.Context(), c.Bo)
	require.ErrorIs(t, err, book.ErrNotFound)
	_, _, err = c.Book.PersonOfToken(t.Context(), hash("s"), now)
	require.ErrorIs(t, err, book.ErrNotFound)
	assert.Empty(t, c.fieldsOf(t, as(t, c.Bo)))
	assert.ElementsMatch(t, []string{"North", "South"}, c.fieldsOf(t, as(t, c.Max)))
}

// theOwner: other commands put what is of a farm too, and see the whole book.
func theOwner(t *testing.T, c *Crowd) {
	farm, err := c.Owner.FarmNamed(t.Context(), "Birch")
	require.NoError(t, err)
	assert.Equal(t, c.Birch, farm)
	_, err = c.Owner.FarmNamed(t.Context(), "Cedar")
	require.NoError(t, err)
	job := sought("five")
	require.NoError(t, c.Owner.AddFile(t.Context(), job.Files[0], reading(bytesOf("five"))))
	east := work{"East", home(20, 0), 2026, "drill C", "Cy", ""}
	require.NoError(t, c.Owner.Put(book.As(t.Context(), book.Asks{Farm: farm}), "elsewhere:/east/job.yaml", job, partsOf(t, []work{east})))
	assert.ElementsMatch(t, []string{"South", "East"}, c.fieldsOf(t, as(t, c.Bo)))
	assert.Equal(t, []string{"North"}, c.fieldsOf(t, as(t, c.Ada)))
	assert.Equal(t, 3, holds(t, c.Owner).Assessments)
	require.NoError(t, c.Owner.Put(t.Context(), "elsewhere:/east/job.yaml", job, partsOf(t, []work{east})))
	assert.ElementsMatch(t, []string{"South", "East"}, c.fieldsOf(t, as(t, c.Bo)), "where no farm is said it is of the one that it was of")
	require.NoError(t, c.Owner.Put(book.As(t.Context(), book.Asks{Farm: c.Aspen}), "elsewhere:/east/job.yaml", job, partsOf(t, []work{east})))
	assert.Equal(t, []string{"South"}, c.fieldsOf(t, as(t, c.Bo)), "it is of another farm now")
	assert.ElementsMatch(t, []string{"North", "East"}, c.fieldsOf(t, as(t, c.Ada)))
	assert.Equal(t, 3, holds(t, c.Owner).Assessments)
}

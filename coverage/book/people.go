//go:build !js

package book

import (
	"context"
	"errors"
	"time"
)

// A May is what a person may do for a farm, or for the whole book: each includes the one
// before.
type May int

const (
	MayNothing May = iota
	MayLook        // read what was found, and take files out
	MayWork        // put files in, answer what they leave open, give links away
	MayManage      // say who else may do what
)

// String is the word for it that people read.
func (m May) String() string {
	switch m {
	case MayLook:
		return "look"
	case MayWork:
		return "work"
	case MayManage:
		return "manage"
	}
	return "nothing"
}

// MayOf is what a word says that a person may do.
func MayOf(word string) (May, error) {
	for _, m := range []May{MayLook, MayWork, MayManage} {
		if word == m.String() {
			return m, nil
		}
	}
	return MayNothing, errors.New("found " + word + ", want look, work or manage")
}

// WholeBook is the farm of what was put for none. What a person may do there, they may do
// for each farm of the book.
const WholeBook int64 = 0

// Asks says who asks a book, and of which farm alone; the zero value is no person. A book that
// is open to people ([Served]) shows them what they may see and no more; to any other book
// only Farm means something: that what is put is of that farm.
type Asks struct {
	Person int64
	Farm   int64 // [WholeBook] for all farms of the person
}

type asksKey struct{}

// As returns a context in which a person asks.
func As(ctx context.Context, who Asks) context.Context { return context.WithValue(ctx, asksKey{}, who) }

// AskedBy says who asks in a context.
func AskedBy(ctx context.Context) Asks {
	who, _ := ctx.Value(asksKey{}).(Asks)
	return who
}

// Who a person is, as far as a door wants to know.
type Who struct {
	ID       int64
	Name     string
	Password string // how it is kept, not what it is; "" where none was set
	// Stamp is another number once what let the person in lets them in no longer: the
	// password was set anew, or all sessions were ended.
	Stamp int
}

// ErrForbidden is of what a person may not do, or not see, in a book that has it or not.
var ErrForbidden = errors.New("not allowed")

// ErrTaken is of a name that a person or a farm has already.
var ErrTaken = errors.New("taken already")

// A Door is what is asked of a book before it is known who comes: one row by a secret.
// What is not there, or holds no longer, is [ErrNotFound].
type Door interface {
	// PersonWhoSignsIn returns who signs in by a name, in small letters.
	PersonWhoSignsIn(ctx context.Context, name string) (Who, error)
	// PersonOfSubject returns who an issuer of OpenID Connect calls by a subject.
	PersonOfSubject(ctx context.Context, subject string) (Who, error)
	// PersonOf returns a person by number.
	PersonOf(ctx context.Context, id int64) (Who, error)
	// PersonOfToken returns whose token has a hash, and what it lets them do at most.
	PersonOfToken(ctx context.Context, hash string, now time.Time) (Who, May, error)
	// FieldOfLink returns the one assessment that a link leads to, as it was put, and the
	// name of its field.
	FieldOfLink(ctx context.Context, hash string, now time.Time) (name string, stored []byte, err error)
	// Session, KeepSession and EndSession keep what a signed-in browser is known by, under
	// the hash of a secret, until a time.
	Session(ctx context.Context, hash string, now time.Time) ([]byte, error)
	KeepSession(ctx context.Context, hash string, content []byte, ends time.Time) error
	EndSession(ctx context.Context, hash string, now time.Time) error
	// Note writes into the audit trail.
	Note(ctx context.Context, n Note) error
}

// A Note is a line of the audit trail: who did what, for which farm, from where.
type Note struct {
	At      time.Time
	Person  int64 // 0 where it was not known who it was
	Name    string
	Farm    int64
	Did     string // such as "signed in", "gave a link"
	About   string // such as the name of a field
	Address string
}

// A Farm is a farm of a book, and what the person who asks may do there.
type Farm struct {
	ID   int64
	Name string
	May  May
}

// A Person is one of the people of a book, as those see who manage a farm of theirs.
type Person struct {
	ID     int64
	SignIn string // the name to sign in by
	Name   string
	Ended  bool
	Rights []Farm // at the farms that the person who asks manages
}

// A Token lets a program in as a person.
type Token struct {
	ID         int64
	Name       string
	May        May // at most, whatever the person may
	Made, Ends time.Time
}

// A Link leads to one field's page without signing in.
type Link struct {
	ID, Farm   int64
	Name       string // of the field
	By         string // who gave it
	Made, Ends time.Time
}

// A Served is a book that is open to people. All but what [Door] has is asked by a person,
// see [As]: they see and change what they may, and of all else it says [ErrNotFound], as if
// it were not there, or [ErrForbidden].
type Served interface {
	Store
	Door
	Featured
	Years
	Atlas

	// Farms lists the farms that the person who asks may look at, by name; the whole book first
	// where they may look at that.
	Farms(ctx context.Context) ([]Farm, error)
	// AddFarm adds a farm.
	AddFarm(ctx context.Context, name string) (id int64, err error)
	// People lists the people of the farms that the person who asks manages, by name.
	People(ctx context.Context) ([]Person, error)
	// AddPerson adds a person, who may do nothing yet. A name that is taken is [ErrTaken].
	AddPerson(ctx context.Context, p NewPerson) (id int64, err error)
	// Allow says what the person of a name may do for a farm; [MayNothing] takes away what they
	// might.
	Allow(ctx context.Context, signIn string, farm int64, may May) error
	// SetPassword sets how a password is kept, and ends all sessions and tokens of the
	// person: one's own, or anyone's by who manages the book.
	SetPassword(ctx context.Context, person int64, password string) error
	// End lets a person in no more; what they did stays.
	End(ctx context.Context, person int64) error

	// AddToken adds a token of the person who asks, Tokens lists and EndToken ends them.
	AddToken(ctx context.Context, t Token, hash string) error
	Tokens(ctx context.Context) ([]Token, error)
	EndToken(ctx context.Context, id int64) error

	// AddLink adds a link to a part of a job that stands at a farm, Links lists those that
	// hold and EndLink ends them.
	AddLink(ctx context.Context, l Link, job string, part int, hash string) error
	Links(ctx context.Context, now time.Time) ([]Link, error)
	EndLink(ctx context.Context, id int64) error

	// Notes lists the newest lines of the audit trail of the farms that the person who asks
	// manages, at most so many.
	Notes(ctx context.Context, most int) ([]Note, error)
}

// An Owned is a book as the one who owns it has it, who sees all of it.
type Owned interface {
	Store

	// AddManager adds a person who manages the whole book. A name that is taken is
	// [ErrTaken].
	AddManager(ctx context.Context, p NewPerson) error
	// FarmNamed returns the number of a farm, which is added where there is none of the
	// name.
	FarmNamed(ctx context.Context, name string) (id int64, err error)
}

// A NewPerson is a person to be added.
type NewPerson struct {
	SignIn, Name string
	Password     string // how it is kept; "" for none
	Subject      string // of OpenID Connect; "" for none
}

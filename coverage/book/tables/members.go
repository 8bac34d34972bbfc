package tables

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"lapwing/coverage/book"
)

// number63 is a random number for a row. Numbers in a row would tell how many rows there
// are, and could be guessed.
func number63() int64 {
	var b [8]byte
	_, _ = rand.Read(b[:]) // which never fails
	return int64(binary.BigEndian.Uint64(b[:])>>1) | 1
}

// Farms is [book.Served]'s.
func (b *Book) Farms(ctx context.Context) ([]book.Farm, error) {
	return rowsOf(ctx, b, func(scan scanner, f *book.Farm) error { return scan(&f.ID, &f.Name, &f.May) },
		`SELECT id, name, (SELECT max(may) FROM rights WHERE person = $1 AND rights.farm IN (0, farms.id))
			FROM farms ORDER BY id <> 0, lower(name), id`, book.AskedBy(ctx).Person)
}

// AddFarm is [book.Served]'s.
func (b *Book) AddFarm(ctx context.Context, name string) (id int64, err error) {
	if err := b.mayManage(ctx); err != nil {
		return 0, err
	}
	return b.addFarm(ctx, name)
}

func (b *Book) addFarm(ctx context.Context, name string) (id int64, err error) {
	id = number63()
	err = b.write(ctx, "INSERT INTO farms (id, name) VALUES ($1, $2)", id, name)
	return id, b.ofTaken(err)
}

// FarmNamed is [book.Owned]'s.
func (b *Book) FarmNamed(ctx context.Context, name string) (id int64, err error) {
	of := func() error { return one(ctx, b.db, "SELECT id FROM farms WHERE name = $1", []any{name}, &id) }
	if err = of(); !errors.Is(err, book.ErrNotFound) {
		return id, err
	}
	if id, err = b.addFarm(ctx, name); errors.Is(err, book.ErrTaken) { // by another program, now
		err = of()
	}
	return id, err
}

// mayManage returns an error unless the person who asks manages the whole book.
func (b *Book) mayManage(ctx context.Context) error {
	return b.mayAt(book.As(ctx, book.Asks{Person: book.AskedBy(ctx).Person}), book.WholeBook, book.MayManage)
}

// ofTaken makes an error book.ErrTaken where it is one.
func (b *Book) ofTaken(err error) error {
	if err != nil && b.dialect.IsTaken(err) {
		return book.ErrTaken
	}
	return err
}

// People is [book.Served]'s.
func (b *Book) People(ctx context.Context) (people []book.Person, err error) {
	farms, err := b.Farms(ctx)
	if err != nil {
		return nil, err
	}
	farms = slices.DeleteFunc(farms, func(f book.Farm) bool { return f.May < book.MayManage })
	if len(farms) == 0 {
		return nil, book.ErrForbidden
	}
	all := farms[0].ID == book.WholeBook
	err = b.Read(ctx, func(db Asker) error {
		rights := map[int64][]book.Farm{}
		err := each(ctx, db, func(scan scanner) error {
			var person int64
			var f book.Farm
			if err := scan(&person, &f.ID, &f.May); err != nil {
				return err
			}
			if i := slices.IndexFunc(farms, func(o book.Farm) bool { return o.ID == f.ID }); i >= 0 {
				f.Name = farms[i].Name
				rights[person] = append(rights[person], f)
			}
			return nil
		}, "SELECT person, farm, may FROM rights ORDER BY farm")
		if err != nil {
			return err
		}
		return each(ctx, db, func(scan scanner) error {
			var p book.Person
			var ended sql.NullTime
			if err := scan(&p.ID, &p.SignIn, &p.Name, &ended); err != nil {
				return err
			}
			p.Ended, p.Rights = ended.Valid, rights[p.ID]
			if all || len(p.Rights) > 0 {
				people = append(people, p)
			}
			return nil
		}, "SELECT id, sign_in, name, ended_at FROM people ORDER BY lower(name), id")
	})
	return people, err
}

// AddPerson is [book.Served]'s.
func (b *Book) AddPerson(ctx context.Context, p book.NewPerson) (id int64, err error) {
	if err := b.mayManage(ctx); err != nil {
		return 0, err
	}
	err = b.Update(ctx, func(tx *sql.Tx) error {
		id, err = b.addPerson(ctx, tx, p)
		return err
	})
	return id, b.ofTaken(err)
}

// addPerson adds a person, who may do nothing yet.
func (b *Book) addPerson(ctx context.Context, tx *sql.Tx, p book.NewPerson) (id int64, err error) {
	id = number63()
	_, err = tx.ExecContext(ctx, "INSERT INTO people (id, sign_in, name, password, subject, made_at) VALUES ($1, $2, $3, $4, $5, $6)",
		id, strings.ToLower(p.SignIn), p.Name, orNull(p.Password), orNull(p.Subject), b.dialect.Time(time.Now().UTC()))
	return id, err
}

// AddManager is [book.Owned]'s.
func (b *Book) AddManager(ctx context.Context, p book.NewPerson) error {
	err := b.Update(ctx, func(tx *sql.Tx) error {
		id, err := b.addPerson(ctx, tx, p)
		if err != nil {
			return err
		}
		_, err = tx.ExecContext(ctx, "INSERT INTO rights (person, farm, may) VALUES ($1, 0, $2)", id, book.MayManage)
		return err
	})
	return b.ofTaken(err)
}

// Allow is [book.Served]'s.
func (b *Book) Allow(ctx context.Context, signIn string, farm int64, may book.May) error {
	if err := b.mayAt(ctx, farm, book.MayManage); err != nil {
		return err
	}
	ids, err := listOf[int64](ctx, b, b.dialect.Door.SignsIn, strings.ToLower(signIn))
	if err != nil {
		return err
	}
	if len(ids) == 0 {
		return book.ErrNotFound
	}
	if may == book.MayNothing {
		return b.write(ctx, "DELETE FROM rights WHERE person = $1 AND farm = $2", ids[0], farm)
	}
	return b.write(ctx, "INSERT INTO rights (person, farm, may) VALUES ($1, $2, $3) ON CONFLICT (person, farm) DO UPDATE SET may = excluded.may", ids[0], farm, may)
}

// SetPassword is [book.Served]'s.
func (b *Book) SetPassword(ctx context.Context, person int64, password string) error {
	if person != book.AskedBy(ctx).Person {
		if err := b.mayManage(ctx); err != nil {
			return err
		}
	}
	return b.changed(ctx, "UPDATE people SET password = $1, stamp = stamp + 1 WHERE id = $2", password, person)
}

// End is [book.Served]'s.
func (b *Book) End(ctx context.Context, person int64) error {
	if err := b.mayManage(ctx); err != nil {
		return err
	}
	return b.changed(ctx, "UPDATE people SET ended_at = $1, stamp = stamp + 1 WHERE id = $2", b.dialect.Time(time.Now().UTC()), person)
}

// changed does one statement that changes or ends one row; [book.ErrNotFound] where it
// finds none.
func (b *Book) changed(ctx context.Context, statement string, args ...any) error {
	return b.Update(ctx, func(tx *sql.Tx) error {
		done, err := tx.ExecContext(ctx, statement, args...)
		if err != nil {
			return err
		}
		if n, err := done.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, book.ErrNotFound)
		}
		return nil
	})
}

// AddToken is [book.Served]'s.
func (b *Book) AddToken(ctx context.Context, t book.Token, hash string) error {
	return b.write(ctx, "INSERT INTO tokens (id, person, name, hash, may, made_at, ends_at) VALUES ($1, $2, $3, $4, $5, $6, $7)",
		number63(), book.AskedBy(ctx).Person, t.Name, hash, t.May, b.dialect.Time(t.Made.UTC()), b.dialect.Time(t.Ends.UTC()))
}

// Tokens is [book.Served]'s.
func (b *Book) Tokens(ctx context.Context) ([]book.Token, error) {
	return rowsOf(ctx, b, func(scan scanner, t *book.Token) error { return scan(&t.ID, &t.Name, &t.May, &t.Made, &t.Ends) },
		"SELECT id, name, may, made_at, ends_at FROM tokens WHERE person = $1 ORDER BY made_at, id", book.AskedBy(ctx).Person)
}

// EndToken is [book.Served]'s.
func (b *Book) EndToken(ctx context.Context, id int64) error {
	return b.changed(ctx, "DELETE FROM tokens WHERE id = $1 AND person = $2", id, book.AskedBy(ctx).Person)
}

// AddLink is [book.Served]'s.
func (b *Book) AddLink(ctx context.Context, l book.Link, job string, part int, hash string) error {
	if err := b.mayAt(ctx, l.Farm, book.MayWork); err != nil {
		return err
	}
	shown, err := listOf[string](ctx, b, "SELECT name FROM assessments WHERE farm = $1 AND job = $2 AND part = $3", l.Farm, job, part)
	if err != nil {
		return err
	}
	if len(shown) == 0 {
		return book.ErrNotFound
	}
	return b.write(ctx, "INSERT INTO links (id, hash, farm, job, part, name, made_by, made_at, ends_at) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
		number63(), hash, l.Farm, job, part, shown[0], book.AskedBy(ctx).Person, b.dialect.Time(l.Made.UTC()), b.dialect.Time(l.Ends.UTC()))
}

// Links is [book.Served]'s.
func (b *Book) Links(ctx context.Context, now time.Time) ([]book.Link, error) {
	return rowsOf(ctx, b, func(scan scanner, l *book.Link) error {
		return scan(&l.ID, &l.Farm, &l.Name, &l.By, &l.Made, &l.Ends)
	}, `SELECT links.id, farm, links.name, coalesce((SELECT people.name FROM people WHERE people.id = made_by), ''), links.made_at, ends_at
		FROM links WHERE ends_at > $1 ORDER BY links.made_at, links.id`, b.dialect.Time(now.UTC()))
}

// EndLink is [book.Served]'s.
func (b *Book) EndLink(ctx context.Context, id int64) error {
	farms, err := listOf[int64](ctx, b, "SELECT farm FROM links WHERE id = $1", id)
	if err != nil {
		return err
	}
	if len(farms) == 0 {
		return book.ErrNotFound
	}
	if err := b.mayAt(ctx, farms[0], book.MayWork); err != nil {
		return err
	}
	return b.changed(ctx, "DELETE FROM links WHERE id = $1", id)
}

// Notes is [book.Served]'s.
func (b *Book) Notes(ctx context.Context, most int) ([]book.Note, error) {
	people, err := b.People(ctx)
	if err != nil {
		return nil, err
	}
	return rowsOf(ctx, b, func(scan scanner, n *book.Note) error {
		var person sql.NullInt64
		if err := scan(&n.At, &person, &n.Farm, &n.Did, &n.About, &n.Address); err != nil {
			return err
		}
		if n.Person = person.Int64; person.Valid {
			n.Name = fmt.Sprintf("no. %d", n.Person)
			if i := slices.IndexFunc(people, func(p book.Person) bool { return p.ID == n.Person }); i >= 0 {
				n.Name = people[i].Name
			}
		}
		return nil
	}, "SELECT at, person, farm, did, about, from_address FROM audit ORDER BY id DESC LIMIT $1", most)
}

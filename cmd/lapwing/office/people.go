package office

import (
	"errors"
	"net/http"
	"strconv"
	"strings"
	"time"

	"lapwing/coverage/book"
	"lapwing/report/office"
)

var peopleRoutes = []Route{
	{"POST /farms", Managers, (*Office).addFarm},
	{"GET /people", Managers, (*Office).people},
	{"POST /people", Managers, (*Office).addPerson},
	{"POST /people/allow", Managers, (*Office).allow},
	{"POST /people/{person}/password", Managers, (*Office).newPassword},
	{"POST /people/{person}/end", Managers, (*Office).endPerson},
	{"GET /account", Lookers, (*Office).account},
	{"POST /account/password", Managers, (*Office).changePassword},
	{"POST /account/tokens", Managers, (*Office).addToken},
	{"POST /account/tokens/{token}/end", Managers, (*Office).endToken},
	{"GET /trail", Managers, (*Office).trail},
}

// frame is what every page has.
func (o *Office) frame(r *http.Request, title string) office.Frame {
	f := office.Frame{Title: title, Who: whoAsks(r).Name}
	all := append([]office.Place{{Name: "Fields", At: "/"}}, o.places...)
	for _, p := range append(all, office.Place{Name: "People", At: "/people"}, office.Place{Name: "Account", At: "/account"}, office.Place{Name: "What was done", At: "/trail"}) {
		p.Here = r.URL.Path == p.At
		f.Places = append(f.Places, p)
	}
	return f
}

// number is a number in the path; book.ErrNotFound where it is none.
func number(r *http.Request, name string) (int64, error) {
	n, err := strconv.ParseInt(r.PathValue(name), 10, 64)
	if err != nil || n < 0 {
		return 0, book.ErrNotFound
	}
	return n, nil
}

// named is what was typed into a field of a form that names something.
func named(r *http.Request, field string) (string, error) {
	text := strings.Join(strings.Fields(r.PostFormValue(field)), " ")
	if text == "" || len(text) > 100 {
		return "", wrong("Found %d letters for a name, want 1 to 100.", len(text))
	}
	return text, nil
}

func (o *Office) addFarm(w http.ResponseWriter, r *http.Request) error {
	name, err := named(r, "name")
	if err != nil {
		return err
	}
	id, err := o.Book.AddFarm(r.Context(), name)
	if errors.Is(err, book.ErrTaken) {
		return wrong("A farm of that name is there already.")
	}
	if err != nil {
		return err
	}
	if err := o.note(r, id, "added a farm", name); err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

func (o *Office) people(w http.ResponseWriter, r *http.Request) error {
	return o.peoplePage(w, r, func(*office.Frame) {})
}

func (o *Office) peoplePage(w http.ResponseWriter, r *http.Request, say func(*office.Frame)) error {
	list, err := o.Book.People(r.Context())
	if err != nil {
		return err
	}
	farms, err := o.Book.Farms(r.Context())
	if err != nil {
		return err
	}
	p := &office.People{Frame: o.frame(r, "People")}
	say(&p.Frame)
	for _, f := range farms {
		if f.May == book.MayManage {
			p.Farms = append(p.Farms, office.Farm{ID: f.ID, Name: f.Name})
			p.Adds = p.Adds || f.ID == book.WholeBook
		}
	}
	for _, one := range list {
		person := office.Person{ID: one.ID, SignIn: one.SignIn, Name: one.Name, Ended: one.Ended}
		for _, f := range one.Rights {
			person.Rights = append(person.Rights, office.Right{Farm: f.ID, Name: f.Name, May: f.May.String()})
		}
		p.List = append(p.List, person)
	}
	return o.page(w, p)
}

// addPerson adds a person, with a password that they are to change.
func (o *Office) addPerson(w http.ResponseWriter, r *http.Request) error {
	signIn, err := named(r, "sign_in")
	if err != nil {
		return err
	}
	name, err := named(r, "name")
	if err != nil {
		return err
	}
	password, _ := newSecret()
	kept, err := Keep(r.Context(), password)
	if err != nil {
		return err
	}
	_, err = o.Book.AddPerson(r.Context(), book.NewPerson{SignIn: signIn, Name: name, Password: kept, Subject: strings.TrimSpace(r.PostFormValue("subject"))})
	if errors.Is(err, book.ErrTaken) {
		return wrong("Somebody signs in by that name, or that subject, already.")
	}
	if err != nil {
		return err
	}
	if err := o.note(r, book.WholeBook, "added a person", signIn); err != nil {
		return err
	}
	return o.peoplePage(w, r, func(f *office.Frame) {
		f.Said, f.OnceFor, f.Once = name+" is added, and may do nothing yet: allow it below.", "The first password of "+name+".", password
	})
}

func (o *Office) allow(w http.ResponseWriter, r *http.Request) error {
	signIn, err := named(r, "sign_in")
	if err != nil {
		return err
	}
	farm, err := strconv.ParseInt(r.PostFormValue("farm"), 10, 64)
	if err != nil {
		return book.ErrNotFound
	}
	may := book.MayNothing
	if word := r.PostFormValue("may"); word != may.String() {
		if may, err = book.MayOf(word); err != nil {
			return wrong("Found %q, want look, work, manage or nothing.", word)
		}
	}
	if err := o.Book.Allow(r.Context(), signIn, farm, may); errors.Is(err, book.ErrNotFound) {
		return wrong("Nobody signs in as %q, or there is no such farm of yours.", signIn)
	} else if err != nil {
		return err
	}
	if err := o.note(r, farm, "allowed to "+may.String(), signIn); err != nil {
		return err
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

// newPassword gives a person a first password again.
func (o *Office) newPassword(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r, "person")
	if err != nil {
		return err
	}
	password, _ := newSecret()
	kept, err := Keep(r.Context(), password)
	if err != nil {
		return err
	}
	if err := o.Book.SetPassword(r.Context(), id, kept); err != nil {
		return err
	}
	if err := o.note(r, book.WholeBook, "gave a new password", "no. "+r.PathValue("person")); err != nil {
		return err
	}
	return o.peoplePage(w, r, func(f *office.Frame) {
		f.Said, f.OnceFor, f.Once = "The old password holds no longer, and all their sessions have ended.", "Their new password.", password
	})
}

func (o *Office) endPerson(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r, "person")
	if err != nil {
		return err
	}
	if id == whoAsks(r).ID {
		return wrong("You cannot shut yourself out: another who manages the book can.")
	}
	if err := o.Book.End(r.Context(), id); err != nil {
		return err
	}
	if err := o.note(r, book.WholeBook, "let in no more", "no. "+r.PathValue("person")); err != nil {
		return err
	}
	http.Redirect(w, r, "/people", http.StatusSeeOther)
	return nil
}

func (o *Office) account(w http.ResponseWriter, r *http.Request) error {
	return o.accountPage(w, r, func(*office.Frame) {})
}

func (o *Office) accountPage(w http.ResponseWriter, r *http.Request, say func(*office.Frame)) error {
	tokens, err := o.Book.Tokens(r.Context())
	if err != nil {
		return err
	}
	links, err := o.Book.Links(r.Context(), o.Now())
	if err != nil {
		return err
	}
	p := &office.Account{Frame: o.frame(r, "Account")}
	say(&p.Frame)
	for _, t := range tokens {
		p.Tokens = append(p.Tokens, office.Token{ID: t.ID, Name: t.Name, May: t.May.String(), Made: t.Made, Ends: t.Ends})
	}
	for _, l := range links {
		p.Links = append(p.Links, office.Link{ID: l.ID, Name: l.Name, By: l.By, Made: l.Made, Ends: l.Ends})
	}
	return o.page(w, p)
}

// changePassword changes one's own, for who knows it as it is.
func (o *Office) changePassword(w http.ResponseWriter, r *http.Request) error {
	me := whoAsks(r)
	if wait := o.names.take(strconv.FormatInt(me.ID, 10)); wait > 0 {
		return &slowed{wait}
	}
	who, err := o.Book.PersonOf(r.Context(), me.ID)
	if err != nil {
		return err
	}
	if is, err := IsKept(r.Context(), r.PostFormValue("old"), who.Password); err != nil {
		return err
	} else if !is {
		return wrong("The password as it is was typed wrong. Nothing was changed.")
	}
	if err := CheckPassword(r.PostFormValue("new")); err != nil {
		return wrong("%s", err)
	}
	kept, err := Keep(r.Context(), r.PostFormValue("new"))
	if err != nil {
		return err
	}
	if err := o.Book.SetPassword(r.Context(), me.ID, kept); err != nil {
		return err
	}
	who, err = o.Book.PersonOf(r.Context(), me.ID)
	if err != nil {
		return err
	}
	if err := o.note(r, book.WholeBook, "changed the password", ""); err != nil {
		return err
	}
	if err := o.begin(r, who); err != nil { // this session goes on, all others have ended
		return err
	}
	return o.accountPage(w, r, func(f *office.Frame) { f.Said = "Your password is changed, and you are signed out everywhere else." })
}

// days is for how long something is to hold.
func (o *Office) days(r *http.Request) (ends time.Time, err error) {
	n, err := strconv.Atoi(r.PostFormValue("days"))
	if err != nil || n < 1 || n > 366 {
		return time.Time{}, wrong("Found %q days, want 1 to 366.", r.PostFormValue("days"))
	}
	return o.Now().AddDate(0, 0, n), nil
}

func (o *Office) addToken(w http.ResponseWriter, r *http.Request) error {
	name, err := named(r, "name")
	if err != nil {
		return err
	}
	may, err := book.MayOf(r.PostFormValue("may"))
	if err != nil {
		return wrong("Found %q, want look, work or manage.", r.PostFormValue("may"))
	}
	ends, err := o.days(r)
	if err != nil {
		return err
	}
	secret, hash := newSecret()
	if err := o.Book.AddToken(r.Context(), book.Token{Name: name, May: may, Made: o.Now(), Ends: ends}, hash); err != nil {
		return err
	}
	if err := o.note(r, book.WholeBook, "made a token to "+may.String(), name); err != nil {
		return err
	}
	return o.accountPage(w, r, func(f *office.Frame) { f.OnceFor, f.Once = "The token for "+name+".", secret })
}

func (o *Office) endToken(w http.ResponseWriter, r *http.Request) error {
	id, err := number(r, "token")
	if err != nil {
		return err
	}
	if err := o.Book.EndToken(r.Context(), id); err != nil {
		return err
	}
	if err := o.note(r, book.WholeBook, "ended a token", ""); err != nil {
		return err
	}
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}

// mostLines of the trail are shown.
const mostLines = 500

func (o *Office) trail(w http.ResponseWriter, r *http.Request) error {
	notes, err := o.Book.Notes(r.Context(), mostLines)
	if err != nil {
		return err
	}
	names, err := o.farmNames(r)
	if err != nil {
		return err
	}
	p := &office.Trail{Frame: o.frame(r, "What was done")}
	for _, n := range notes {
		who := n.Name
		if who == "" {
			who = "nobody known"
		}
		p.List = append(p.List, office.Line{At: n.At, Who: who, Did: n.Did, About: n.About, Farm: names[n.Farm], From: n.Address})
	}
	return o.page(w, p)
}

func (o *Office) farmNames(r *http.Request) (map[int64]string, error) {
	farms, err := o.Book.Farms(r.Context())
	names := map[int64]string{}
	for _, f := range farms {
		names[f.ID] = f.Name
	}
	return names, err
}

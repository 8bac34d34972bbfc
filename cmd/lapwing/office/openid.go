package office

import (
	"context"
	"crypto/rand"
	"errors"
	"net/http"

	"github.com/coreos/go-oidc/v3/oidc"
	"golang.org/x/oauth2"

	"lapwing/coverage/book"
)

// An OpenID is a provider of OpenID Connect that signs people in.
type OpenID struct {
	Name     string // by which people know it
	issuer   string
	verifier *oidc.IDTokenVerifier
	config   oauth2.Config
}

// NewOpenID asks an issuer how it signs people in (OpenID Connect Discovery 1.0). back is
// the address of this office, https://host.
func NewOpenID(ctx context.Context, name, issuer, client, secret, back string) (*OpenID, error) {
	provider, err := oidc.NewProvider(ctx, issuer)
	if err != nil {
		return nil, err
	}
	return &OpenID{Name: name, issuer: issuer,
		verifier: provider.Verifier(&oidc.Config{ClientID: client}),
		config:   oauth2.Config{ClientID: client, ClientSecret: secret, Endpoint: provider.Endpoint(), RedirectURL: back + "/sign-in/back", Scopes: []string{oidc.ScopeOpenID}},
	}, nil
}

var openIDRoutes = []Route{
	{"POST /sign-in/other", Anyone, (*Office).toOther},
	{"GET /sign-in/back", Anyone, (*Office).fromOther},
}

// What a session has while its person is at the provider.
const (
	stateKey    = "state"
	nonceKey    = "nonce"
	verifierKey = "verifier"
)

// toOther sends who comes to the provider.
func (o *Office) toOther(w http.ResponseWriter, r *http.Request) error {
	state, nonce, verifier := rand.Text(), rand.Text(), oauth2.GenerateVerifier()
	for key, value := range map[string]string{stateKey: state, nonceKey: nonce, verifierKey: verifier} {
		o.sessions.Put(r.Context(), key, value)
	}
	http.Redirect(w, r, o.OpenID.config.AuthCodeURL(state, oidc.Nonce(nonce), oauth2.S256ChallengeOption(verifier)), http.StatusSeeOther)
	return nil
}

var errNotSent = &said{http.StatusForbidden, "That way in was not begun here, or it was used. Begin again at /sign-in."}

// fromOther lets in whom the provider sends back.
func (o *Office) fromOther(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	if wait := o.from.take(o.address(r)); wait > 0 {
		return &slowed{wait}
	}
	// Each is used once, whatever comes of it.
	state, nonce, verifier := o.sessions.PopString(ctx, stateKey), o.sessions.PopString(ctx, nonceKey), o.sessions.PopString(ctx, verifierKey)
	if state == "" || r.FormValue("state") != state {
		return errNotSent
	}
	if r.FormValue("error") != "" {
		return &said{http.StatusForbidden, o.OpenID.Name + " did not sign you in."}
	}
	token, err := o.OpenID.config.Exchange(ctx, r.FormValue("code"), oauth2.VerifierOption(verifier))
	if err != nil {
		o.Log.Warn("the OpenID provider gave no token", "error", err.Error())
		return &said{http.StatusForbidden, o.OpenID.Name + " did not sign you in."}
	}
	raw, _ := token.Extra("id_token").(string)
	id, err := o.OpenID.verifier.Verify(ctx, raw)
	if err != nil || id.Nonce != nonce {
		o.Log.Warn("the OpenID provider's token does not hold", "error", errors.Join(err))
		return &said{http.StatusForbidden, o.OpenID.Name + " did not sign you in."}
	}
	who, err := o.Book.PersonOfSubject(ctx, id.Issuer+" "+id.Subject)
	if errors.Is(err, book.ErrNotFound) {
		if err := o.note(r, book.WholeBook, "was not let in", id.Issuer+" "+id.Subject); err != nil {
			return err
		}
		return &said{http.StatusForbidden, "Nobody here has the subject “" + id.Issuer + " " + id.Subject + "”. Somebody who manages the book adds people with theirs."}
	}
	if err != nil {
		return err
	}
	if err := o.begin(r, who); err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

package office

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"fmt"
	"strings"

	"golang.org/x/crypto/argon2"
)

// How a password is kept: argon2id with the second recommended option of RFC 9106, 4 (3
// passes, 4 lanes, 64 MiB, 128 bits of salt, a tag of 256 bits), in the PHC string format.
const (
	passes, lanes, memory = 3, 4, 64 << 10 // memory in KiB
	saltLen, tagLen       = 16, 32
)

// atOnce is how many passwords are tried at a time: each takes 64 MiB.
var atOnce = make(chan struct{}, 2)

// Shortest and longest passwords in bytes: NIST SP 800-63B, 5.1.1.2 asks for 8 at least and
// no rule of what is in them; longer is judgement.
const (
	leastPassword = 12
	mostPassword  = 200
)

// CheckPassword returns an error unless a text will do as a password.
func CheckPassword(text string) error {
	switch n := len(text); {
	case n < leastPassword:
		return fmt.Errorf("found a password of %d letters, want %d or more: four words of a sentence that nobody knows, say", n, leastPassword)
	case n > mostPassword:
		return fmt.Errorf("found a password of %d letters, want %d at most", n, mostPassword)
	}
	return nil
}

// Keep returns how a password is kept.
func Keep(ctx context.Context, password string) (string, error) {
	salt := make([]byte, saltLen)
	_, _ = rand.Read(salt) // which never fails
	tag, err := tagOf(ctx, password, salt, passes, memory, lanes, tagLen)
	if err != nil {
		return "", err
	}
	b64 := base64.RawStdEncoding.EncodeToString
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version, memory, passes, lanes, b64(salt), b64(tag)), nil
}

// tagOf waits for its turn.
func tagOf(ctx context.Context, password string, salt []byte, passes, memory uint32, lanes uint8, n uint32) ([]byte, error) {
	select {
	case atOnce <- struct{}{}:
		defer func() { <-atOnce }()
		return argon2.IDKey([]byte(password), salt, passes, memory, lanes, n), nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// nobodys is the hash of no password. A name that is not known is checked against it, so
// that refusing it takes as long as refusing a wrong password.
const nobodys = "$argon2id$v=19$m=65536,t=3,p=4$AAAAAAAAAAAAAAAAAAAAAA$AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA"

// IsKept reports whether a password is the one that is kept so.
func IsKept(ctx context.Context, password, kept string) (bool, error) {
	if kept == "" {
		kept = nobodys
	}
	parts := strings.Split(kept, "$")
	var version int
	var memory, passes uint32
	var lanes uint8
	if len(parts) != 6 || parts[1] != "argon2id" {
		return false, nil
	}
	if _, err := fmt.Sscanf(parts[2]+" "+parts[3], "v=%d m=%d,t=%d,p=%d", &version, &memory, &passes, &lanes); err != nil || version != argon2.Version {
		return false, nil
	}
	salt, err := base64.RawStdEncoding.DecodeString(parts[4])
	want, err2 := base64.RawStdEncoding.DecodeString(parts[5])
	if err != nil || err2 != nil || passes == 0 || lanes == 0 || memory > 1<<20 || len(password) > mostPassword {
		return false, nil
	}
	tag, err := tagOf(ctx, password, salt, passes, memory, lanes, uint32(len(want)))
	return err == nil && subtle.ConstantTimeCompare(tag, want) == 1, err
}

// newSecret is a secret of 130 random bits, and its hash, which is what a book keeps.
func newSecret() (secret, hash string) {
	secret = rand.Text()
	return secret, hashOf(secret)
}

// Package bucket keeps what is in files in a bucket of an object store, each once and by
// its hash, as package folder does in a folder:
//
//	s3://bucket?region=eu-north-1&prefix=farm/      Amazon's
//	s3://bucket?region=any&endpoint=https://host    any other that speaks its protocol
//
// Who may open a bucket is told by the environment (AWS_ACCESS_KEY_ID and
// AWS_SECRET_ACCESS_KEY) or by AWS's own files (~/.aws, AWS_PROFILE), never by an
// address.
package bucket

import (
	"compress/gzip"
	"context"
	"errors"
	"fmt"
	"io"
	"net/url"
	"strings"

	"gocloud.dev/blob"
	_ "gocloud.dev/blob/s3blob" // s3://
	"gocloud.dev/gcerrors"

	"lapwing/coverage/book"
	"lapwing/coverage/book/folder"
	"lapwing/coverage/book/tables"
)

// Shelf returns the shelf at an address: a bucket, or a folder by its path.
func Shelf(ctx context.Context, address string) (tables.Shelf, error) {
	scheme, _, is := strings.Cut(address, "://")
	switch {
	case !is:
		return folder.New(address), nil
	case scheme == "file":
		return folder.New(strings.TrimPrefix(address, "file://")), nil
	case scheme != "s3":
		return nil, fmt.Errorf("files: found an address of another kind (%s), want a folder or an s3://bucket?region=eu-north-1", scheme)
	}
	u, err := url.Parse(address)
	if err != nil { // which tells all of it
		return nil, errors.New("files: found an address that cannot be read, want one such as s3://bucket?region=eu-north-1")
	}
	if u.User != nil {
		return nil, errors.New("files: found a key in the address, where others see it, want it in AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY, or in ~/.aws")
	}
	values := u.Query()
	if values.Get("endpoint") != "" && !values.Has("use_path_style") {
		values.Set("use_path_style", "true") // a host of one's own has no name for each bucket
		u.RawQuery = values.Encode()
	}
	b, err := blob.OpenBucket(ctx, u.String())
	if err != nil {
		return nil, fmt.Errorf("files: %w", err)
	}
	return &Bucket{b}, nil
}

// Cut cuts where the files are off the address of a book: ?files=, which stands last. "" is
// where the book has them by itself.
func Cut(address string) (book, files string) {
	for _, mark := range []string{"?files=", "&files="} {
		var found bool
		if book, files, found = strings.Cut(address, mark); !found {
			continue
		}
		if strings.HasPrefix(files, "s3://") {
			return book, files
		}
		// As an address has a value; what stands after it is of the book.
		files, rest, more := strings.Cut(files, "&")
		if more {
			book += mark[:1] + rest
		}
		if plain, err := url.QueryUnescape(files); err == nil {
			files = plain
		}
		return book, files
	}
	return address, ""
}

// A Bucket is a tables.Shelf in a bucket.
type Bucket struct{ b *blob.Bucket }

// Has reports whether the file of a hash is there.
func (s *Bucket) Has(ctx context.Context, sha256 string) (bool, error) {
	key, err := folder.NameOf(sha256)
	if err != nil {
		return false, err
	}
	return s.b.Exists(ctx, key)
}

// Add keeps what from gives, packed. An object is there once all of it has come.
func (s *Bucket) Add(ctx context.Context, sha256 string, from io.Reader) error {
	key, err := folder.NameOf(sha256)
	if err != nil {
		return err
	}
	ctx, drop := context.WithCancel(ctx)
	defer drop()
	to, err := s.b.NewWriter(ctx, key, &blob.WriterOptions{ContentType: "application/gzip"})
	if err != nil {
		return err
	}
	packed := gzip.NewWriter(to)
	_, err = io.Copy(packed, from)
	if err == nil {
		err = packed.Close()
	}
	if err != nil {
		drop() // before Close, or half of it would be there
		_ = to.Close()
		return err
	}
	return to.Close()
}

// Open opens the file of a hash; [book.ErrNotFound] where it is not there.
func (s *Bucket) Open(ctx context.Context, sha256 string) (io.ReadCloser, error) {
	key, err := folder.NameOf(sha256)
	if err != nil {
		return nil, err
	}
	from, err := s.b.NewReader(ctx, key, nil)
	if gcerrors.Code(err) == gcerrors.NotFound {
		return nil, book.ErrNotFound
	}
	if err != nil {
		return nil, err
	}
	return folder.Unpacked(from)
}

// Close ends all connections.
func (s *Bucket) Close() error { return s.b.Close() }

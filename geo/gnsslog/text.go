package gnsslog

import (
	"bytes"
	"io"
)

// A Text is the text of a log: UTF-8 without a byte-order mark, with lines that
// end in "\n" or "\r\n". A reader takes it as it comes and keeps no more of it
// than a piece; what only the end of a text tells may need a second look.
type Text struct {
	// Open returns the text from its start. An error of it, or of what it
	// returns, is what the reader of the log fails with.
	Open func() (io.Reader, error)
	// Settle says that the text is a log as the reader takes it and that Open will
	// not be called again, so that what comes only once need not be kept. nil where the
	// caller need not know.
	Settle func()
	// Size is about how many bytes there are; 0 where that is not known.
	Size int64
	// Beside finds the files that belong to the text's, by their ending (".prj"); it
	// gives nothing where there is none. nil finds none.
	Beside func(ending string) ([]byte, error)
}

// TextOf is a text in memory.
func TextOf(data []byte) Text {
	return Text{Open: func() (io.Reader, error) { return bytes.NewReader(data), nil }, Size: int64(len(data))}
}

func (t *Text) settle() {
	if t.Settle != nil {
		t.Settle()
	}
}

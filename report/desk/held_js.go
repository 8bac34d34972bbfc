package desk

// Held is nothing: a page in a browser has no book.
type Held struct{}

func (a *ask) held(string) *Held { return nil }

func (a *ask) ofBook(message) Reply { return fail(wrong("found no book", "lapwing on a computer")) }

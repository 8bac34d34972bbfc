package coverage

// A Warning is something the reader of a result should know about the input
// it came from. Warnings are data: they ride with the result to every report,
// and nothing is dropped or mended without one.
type Warning struct {
	File  string // "" where it concerns no single file
	Line  int    // 0 where it concerns no single line
	Count int    // how many fixes or rings it concerns; 0 where that has no meaning
	Text  string
}

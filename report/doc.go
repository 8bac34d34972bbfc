// Package report writes a finished assessment in words, tables and pictures. Here
// stands what files of all documents share; a document is a package below:
//
//	field   a field's report: page, terminal, GeoJSON, CSV
//	last    the last pass and the headland, for the cab
//	mend    the drive that mends skips, for page and handheld
//	waste   what was put down twice or outside, on one field or many
//	season  the book of many fields
//	look    what a log holds, drawn for a terminal
//
// They write with words (amounts and sentences), chart (maps and charts as SVG)
// and page (templates, styles, scripts, tables); report itself asks words alone, and
// only for what is to be left out of a table.
//
// report measures nothing: every figure comes from an assessment, and is rounded
// here, once, for people. It only ever sees an io.Writer.
package report

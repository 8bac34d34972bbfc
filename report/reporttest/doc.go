// Package reporttest is for tests of documents: goldens, and pages open in a
// browser (with the tag browser).
package reporttest

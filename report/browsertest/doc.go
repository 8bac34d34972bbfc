// Package browsertest shows pages in a browser, for tests with the tag browser.
package browsertest

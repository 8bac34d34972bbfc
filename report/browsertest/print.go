//go:build browser

package browsertest

import (
	"os"
	"path/filepath"
	"regexp"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// Papers are those that pages are printed on here.
var Papers = map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter}

// Printed prints the page as the browser does, and returns how many pages and how many
// bytes that takes; the file is kept with the pictures, see [Page.Keep].
func (p *Page) Printed(paper, name string) (pages, size int) {
	p.T.Helper()
	pdf, err := chromedp.Run(p.Ctx, chromedp.PrintToPDF(chromedp.PDFPaper(Papers[paper])))
	require.NoError(p.T, err)
	if dir := os.Getenv("LAPWING_PAGES"); dir != "" {
		require.NoError(p.T, os.WriteFile(filepath.Join(dir, name+"-"+paper+".pdf"), pdf, 0o644))
	}
	return len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1)), len(pdf)
}

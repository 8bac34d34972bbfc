//go:build browser

package rain

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"

	"lapwing/report/browsertest"
)

var eight = []string{"ash", "birch", "cedar by the long road", "dogwood", "elm", "fir", "gorse", "hazel"}

func TestBrowserRainForTheCrew(t *testing.T) {
	browsertest.InTheCab(t, "rain", document(t, eight...).Page)
}

// Eight fields with their notes and cautions are one printed page, with the places
// written out: paper opens no map.
func TestBrowserRainIsOnePage(t *testing.T) {
	for name, paper := range map[string]chromedp.PaperSize{"a4": chromedp.PaperA4, "letter": chromedp.PaperLetter} {
		d := document(t, eight...)
		p := browsertest.Open(t, browsertest.Written(t, d.Page), 1280, 900)
		p.Media("print", "light")
		require.Equal(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.querySelector("#fields .tap")).display`))
		require.NotEqual(t, "none", browsertest.Eval[string](p, `getComputedStyle(document.querySelector("#fields .way-to")).display`))
		pdf, err := chromedp.Run(p.Ctx, chromedp.PrintToPDF(chromedp.PDFPaper(paper)))
		require.NoError(t, err)
		if dir := os.Getenv("LAPWING_PAGES"); dir != "" {
			require.NoError(t, os.WriteFile(filepath.Join(dir, "rain-"+name+".pdf"), pdf, 0o644))
		}
		require.Equal(t, 1, bytes.Count(pdf, []byte("/Type /Page\n")), name)
		p.Quiet()
	}
}

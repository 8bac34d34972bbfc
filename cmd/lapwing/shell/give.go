package shell

import (
	"bytes"
	"io"
	"io/fs"
	"mime"
	"net/http"
	"path"
	"strings"
	"time"

	"lapwing/report/page"
)

// kinds are the types of the documents by their endings. What is not here is bytes.
var kinds = map[string]string{
	".html": "text/html; charset=utf-8", ".json": "application/json", ".geojson": "application/geo+json",
	".csv": "text/csv; charset=utf-8", ".gpx": "application/gpx+xml", ".kml": "application/vnd.google-earth.kml+xml",
	".gpkg": "application/geopackage+sqlite3", ".svg": "image/svg+xml", ".png": "image/png", ".txt": "text/plain; charset=utf-8",
}

// inert is the policy of what is no page of ours: it loads nothing and runs nothing.
const inert = "default-src 'none'; sandbox"

// give gives a document of the desk, or a file that was dropped. Only documents are
// shown as pages, with the styles and scripts of this program and no others; what was
// dropped is given to be saved.
func (s *Shell) give(w http.ResponseWriter, r *http.Request) {
	name := strings.TrimPrefix(r.URL.Path, "/")
	if !fs.ValidPath(name) {
		http.NotFound(w, r)
		return
	}
	f, err := s.Folder.Open(name)
	if err != nil {
		http.NotFound(w, r)
		return
	}
	defer f.Close()
	info, err := f.Stat()
	content, ok := f.(io.ReadSeeker)
	if err != nil || !info.Mode().IsRegular() || !ok {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Content-Security-Policy", inert)
	kind := kinds[strings.ToLower(path.Ext(name))]
	if strings.HasPrefix(name, "pages/") && kind != "" {
		h.Set("Content-Type", kind)
		if policy := policyOf(content); policy != "" && path.Ext(name) == ".html" {
			h.Set("Content-Security-Policy", policy+"; frame-ancestors 'self'")
		}
	} else {
		h.Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": path.Base(name)}))
	}
	http.ServeContent(w, r, "", time.Time{}, content)
}

// policyOf is the policy that a page states in its head, where it is one of this
// program; the page of a stranger, or of another version, runs nothing.
func policyOf(content io.ReadSeeker) string {
	head := make([]byte, 4096)
	n, _ := io.ReadFull(content, head)
	if _, err := content.Seek(0, io.SeekStart); err != nil {
		return ""
	}
	_, stated, _ := bytes.Cut(head[:n], []byte(`<meta http-equiv="Content-Security-Policy" content="`))
	policy, _, _ := bytes.Cut(stated, []byte(`"`))
	if !page.IsPolicy(string(policy)) {
		return ""
	}
	return string(policy)
}

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

	"lapwing/report/desk"
	"lapwing/report/page"
)

// octets is the type of what a browser is not to open.
const octets = "application/octet-stream"

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
	kind := desk.TypeOf(name)
	if !strings.HasPrefix(name, "pages/") {
		kind = octets
	}
	h.Set("Content-Type", kind)
	h.Set("Content-Security-Policy", inert)
	if kind != octets {
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

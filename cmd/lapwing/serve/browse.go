package serve

import (
	"html/template"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"sync"
)

// A list of processes shows everybody what a browser was called with. So it is
// called with a file that only this user may read, and that leads on.
var leadOn = sync.OnceValue(func() *template.Template {
	return template.Must(template.New("").Parse(`<!doctype html>
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<title>lapwing</title>
<script>location.replace({{.}});</script>
<noscript><p><a href="{{.}}">On to the page</a></p></noscript>
`))
})

// LeadOn writes a file into a folder that leads a browser on to an address with a
// key. Only this user may read it; what stood there before goes. The folder is one
// that browsers may read, too: some see nothing of /tmp, or of hidden folders.
func LeadOn(folder *os.Root, name, address string) error {
	var page strings.Builder
	if err := leadOn().Execute(&page, address); err != nil {
		return err
	}
	if err := folder.Remove(name); err != nil && !os.IsNotExist(err) {
		return err
	}
	f, err := folder.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	_, err = f.WriteString(page.String())
	if closed := f.Close(); err == nil {
		err = closed
	}
	return err
}

// Show opens a file or a page in the browser of the person before the screen, if
// there is one, and reports whether it could be begun.
func Show(path string) bool {
	var c *exec.Cmd
	switch runtime.GOOS {
	case "windows":
		c = exec.Command("rundll32", "url.dll,FileProtocolHandler", path)
	case "darwin":
		c = exec.Command("open", path)
	default:
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return false
		}
		c = exec.Command("xdg-open", path)
	}
	if c.Start() != nil {
		return false
	}
	go c.Wait() // so that it does not linger as a zombie while we live
	return true
}

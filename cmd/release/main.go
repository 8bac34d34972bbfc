package main

import (
	"bytes"
	"crypto/sha256"
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

func main() {
	if err := run(os.Args[1:], os.Stderr); err != nil {
		fmt.Fprintf(os.Stderr, "release: %v\n", err)
		os.Exit(1)
	}
}

// A target is a system that the program is built for.
type target struct{ system, arch string }

func (t target) String() string { return t.system + "/" + t.arch }

var targets = []target{
	{"darwin", "amd64"}, {"darwin", "arm64"},
	{"linux", "amd64"}, {"linux", "arm64"},
	{"windows", "amd64"}, {"windows", "arm64"},
}

// called is what systems are called in the names of files: as people know them.
var called = map[string]string{"darwin": "macos", "linux": "linux", "windows": "windows"}

// materials is the tool that writes the bills of materials.
const materials = "github.com/CycloneDX/cyclonedx-gomod/cmd/cyclonedx-gomod@v1.10.0"

// pageMaker builds lapwing.html and what stands beside it.
const pageMaker = "cmd/page/make"

// versions are those of Semantic Versioning 2.0.0, without what stands for a build.
var versions = regexp.MustCompile(`^(0|[1-9][0-9]*)\.(0|[1-9][0-9]*)\.(0|[1-9][0-9]*)(-[0-9A-Za-z.-]+)?$`)

// A release is one being built.
type release struct {
	version string
	out     string
	work    string // for what is on its way
	at      time.Time
	targets []target
	log     io.Writer
}

// run builds a release as the arguments have it.
func run(args []string, log io.Writer) error {
	r, err := read(args)
	if err != nil {
		return err
	}
	r.log = log
	if r.at, err = commitTime(); err != nil {
		return err
	}
	if r.work, err = os.MkdirTemp("", "lapwing-release-*"); err != nil {
		return err
	}
	defer os.RemoveAll(r.work)
	if err := os.MkdirAll(r.out, 0o755); err != nil {
		return err
	}
	if there, err := os.ReadDir(r.out); err != nil || len(there) > 0 {
		return fmt.Errorf("found something in %s, want a new directory (--out)", r.out)
	}
	if err := r.build(); err != nil {
		return err
	}
	return r.sums()
}

// read reads the arguments: VERSION may stand before or after the flags.
func read(args []string) (*release, error) {
	r := &release{}
	if len(args) > 0 && !strings.HasPrefix(args[0], "-") {
		r.version, args = args[0], args[1:]
	}
	flags := flag.NewFlagSet("release", flag.ContinueOnError)
	flags.SetOutput(io.Discard) // what is wrong is in the error
	only := ""
	flags.StringVar(&r.out, "out", "dist", "")
	flags.StringVar(&only, "only", "", "")
	if err := flags.Parse(args); err != nil {
		return nil, err
	}
	if r.version == "" {
		r.version = flags.Arg(0)
	}
	if !versions.MatchString(r.version) {
		return nil, fmt.Errorf("found version %q, want one such as 1.2.3", r.version)
	}
	r.targets = targets
	if only != "" {
		r.targets = nil
		for name := range strings.SplitSeq(only, ",") {
			i := slices.IndexFunc(targets, func(t target) bool { return t.String() == name })
			if i < 0 {
				return nil, fmt.Errorf("--only: found %q, want some of %v", name, targets)
			}
			r.targets = append(r.targets, targets[i])
		}
	}
	return r, nil
}

// commitTime is when what is checked out was committed. What is not committed has no
// time, and no name by which it could be built again.
func commitTime() (time.Time, error) {
	changed, err := output("git", "status", "--porcelain")
	switch {
	case err != nil:
		return time.Time{}, err
	case changed != "":
		return time.Time{}, fmt.Errorf("found files that are not committed (%s ...), want a clean checkout", strings.TrimSpace(strings.SplitN(changed, "\n", 2)[0]))
	}
	text, err := output("git", "log", "-1", "--format=%ct")
	if err != nil {
		return time.Time{}, err
	}
	seconds, err := strconv.ParseInt(strings.TrimSpace(text), 10, 64)
	return time.Unix(seconds, 0).UTC(), err
}

func output(name string, args ...string) (string, error) {
	c := exec.Command(name, args...)
	var errs bytes.Buffer
	c.Stderr = &errs
	out, err := c.Output()
	if err != nil {
		return "", fmt.Errorf("%s: %w: %s", strings.Join(c.Args, " "), err, strings.TrimSpace(errs.String()))
	}
	return string(out), nil
}

// goCommand runs the go command for a system; what the person who builds has set for
// himself has no part in it.
func (r *release) goCommand(t target, args ...string) error {
	c := exec.Command("go", args...)
	c.Env = append(os.Environ(), "CGO_ENABLED=0", "GOFLAGS=", "GOEXPERIMENT=", "GOWORK=off", "GOAMD64=v1", "GOARM64=v8.0", "GOFIPS140=off")
	if t.system != "" {
		c.Env = append(c.Env, "GOOS="+t.system, "GOARCH="+t.arch)
	}
	c.Stdout, c.Stderr = r.log, r.log
	fmt.Fprintf(r.log, "%v go %s\n", t, strings.Join(args, " "))
	if err := c.Run(); err != nil {
		return fmt.Errorf("go %s: %w", strings.Join(args, " "), err)
	}
	return nil
}

// build builds all files but the checksums.
func (r *release) build() error {
	tools := filepath.Join(r.work, "tools")
	if err := r.install(tools); err != nil {
		return err
	}
	for _, t := range r.targets {
		if err := r.program(t, tools); err != nil {
			return err
		}
	}
	return r.goCommand(target{}, "run", "-trimpath", "./"+pageMaker, "--out", r.out, "--version", r.version)
}

// install builds the tool for bills of materials, the same to the byte everywhere: its
// own hash stands in them.
func (r *release) install(into string) error {
	c := exec.Command("go", "install", "-trimpath", materials)
	c.Env = append(os.Environ(), "CGO_ENABLED=0", "GOFLAGS=", "GOBIN="+into)
	c.Stderr = r.log
	return c.Run()
}

// program builds the program for a system, packs it, and writes its bill.
func (r *release) program(t target, tools string) error {
	name := "lapwing-" + r.version + "-" + called[t.system] + "-" + t.arch
	binary := filepath.Join(r.work, name, "lapwing")
	if t.system == "windows" {
		binary += ".exe"
	}
	err := r.goCommand(t, "build", "-trimpath", "-buildvcs=true", "-ldflags=-s -w -X main.release="+r.version, "-o", binary, "./cmd/lapwing")
	if err != nil {
		return err
	}
	bill := exec.Command(filepath.Join(tools, "cyclonedx-gomod"), "bin", "-json", "-noserial", "-notimestamp", "-licenses", "-std",
		"-version", "v"+r.version, "-output", filepath.Join(r.out, name+".cdx.json"), binary)
	if text, err := bill.CombinedOutput(); err != nil {
		return fmt.Errorf("the bill of materials of %v: %w: %s", t, err, text)
	}
	files, err := content(t, binary)
	if err != nil {
		return err
	}
	pack, ending := packTar, ".tar.gz"
	if t.system == "windows" {
		pack, ending = packZip, ".zip"
	}
	f, err := os.Create(filepath.Join(r.out, name+ending))
	if err != nil {
		return err
	}
	if err := pack(f, name, files, r.at); err != nil {
		f.Close()
		return err
	}
	return f.Close()
}

// sums writes the checksums, as sha256sum -c reads them.
func (r *release) sums() error {
	entries, err := os.ReadDir(r.out)
	if err != nil {
		return err
	}
	var b strings.Builder
	for _, e := range entries {
		if !e.Type().IsRegular() {
			continue
		}
		data, err := os.ReadFile(filepath.Join(r.out, e.Name()))
		if err != nil {
			return err
		}
		fmt.Fprintf(&b, "%x  %s\n", sha256.Sum256(data), e.Name())
	}
	return os.WriteFile(filepath.Join(r.out, "SHA256SUMS"), []byte(b.String()), 0o644)
}

package main

import (
	"errors"
	"fmt"
	"os"
	"runtime"
	"runtime/debug"
	"strconv"
	"strings"
	"sync"

	"lapwing/coverage/book"
	"lapwing/coverage/quantity"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// newRoot returns the command with all its subcommands.
func newRoot() *cobra.Command {
	cobra.MousetrapHelpText = "" // a double click opens the desk
	root := &cobra.Command{
		Use:   "lapwing",
		Short: "Tells which ground a seeding crew really covered",
		Long: `lapwing reads a field's boundary and the machines' GNSS logs, works out the
ground each pass covered, and tells where strips were skipped or worked twice
and whether the headland closed.`,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return unknownCommand(c, args[0])
			}
			if startedByExplorer() {
				return doubleClick(c)
			}
			return c.Help()
		},
	}
	root.AddCommand(newDesk(), newSeason(), newNew(), newDemo())
	root.SetFlagErrorFunc(flagError)
	root.SetHelpCommand(newHelp())
	root.AddCommand(newAssess(), newLast(), newMend(), newInspect(), newWaste(), newCab(), newWork(), newServe(), newVersion(), newAnswerJob())
	return root
}

// flagError says what is wrong with a flag.
func flagError(c *cobra.Command, err error) error {
	var value *pflag.InvalidValueError
	if errors.As(err, &value) && value.GetFlag().Value.Type() == "bool" {
		return &callError{fmt.Sprintf("--%s: found %q, want true or false", value.GetFlag().Name, value.GetValue())}
	}
	var unknown *pflag.NotExistError
	if errors.As(err, &unknown) {
		var known []string
		c.Flags().VisitAll(func(f *pflag.Flag) { known = append(known, f.Name) })
		if near := quantity.Nearest(unknown.GetSpecifiedName(), known); near != "" {
			return &callError{fmt.Sprintf("%s, want --%s; see %q", err, near, c.CommandPath()+" --help")}
		}
	}
	return &callError{fmt.Sprintf("%s; see %q", err, c.CommandPath()+" --help")}
}

// newHelp tells of one command, and refuses to tell of none.
func newHelp() *cobra.Command {
	return &cobra.Command{
		Use:   "help [command]",
		Short: "Help about any command",
		Args:  cobra.ArbitraryArgs,
		ValidArgsFunction: func(c *cobra.Command, args []string, _ string) (names []string, _ cobra.ShellCompDirective) {
			if of, rest, err := c.Root().Find(args); err == nil && len(rest) == 0 {
				names = commandNames(of)
			}
			return names, cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(c *cobra.Command, args []string) error {
			of, rest, err := c.Root().Find(args)
			switch {
			case err != nil:
				return &callError{err.Error()}
			case len(rest) > 0:
				return surplus(of, rest)
			}
			return of.Help()
		},
	}
}

// addCompletion gives root the commands that write completion scripts. It is
// called when root knows where it writes to.
func addCompletion(root *cobra.Command) {
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		if c.Name() != "completion" {
			continue
		}
		c.Args = surplus
		c.RunE = func(c *cobra.Command, _ []string) error { return c.Help() }
		for _, shell := range c.Commands() {
			shell.Args = surplus
		}
	}
}

// surplus refuses what stands after a command that takes no arguments, in one
// line. Where the command has others below it, one of them was meant.
func surplus(c *cobra.Command, args []string) error {
	switch {
	case len(args) == 0:
		return nil
	case c.HasAvailableSubCommands():
		return unknownCommand(c, args[0])
	}
	return &callError{fmt.Sprintf("found %q after %q, want nothing there", args[0], c.CommandPath())}
}

// unknownCommand names the nearest command, or all of them.
func unknownCommand(c *cobra.Command, name string) error {
	want := "one of " + strings.Join(commandNames(c), ", ")
	c.SuggestionsMinimumDistance = 2 // letters to change
	if near := c.SuggestionsFor(name); len(near) == 1 {
		want = strconv.Quote(near[0])
	}
	return &callError{fmt.Sprintf("found command %q, want %s", name, want)}
}

// commandNames returns the names of the commands below c.
func commandNames(c *cobra.Command) (names []string) {
	for _, s := range c.Commands() {
		if s.IsAvailableCommand() {
			names = append(names, s.Name())
		}
	}
	return names
}

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version",
		Long: `version prints the version, the commit that the program was built from and when
that was, the compiler, and the system it is for.`,
		Args: surplus,
		RunE: func(c *cobra.Command, _ []string) error {
			_, err := fmt.Fprintln(c.OutOrStdout(), "lapwing", versionText())
			return err
		},
	}
}

// release is the version of a release, which cmd/release has the linker put here.
var release string

// versionText tells which program this is.
func versionText() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	text := info.Main.Version
	if release != "" {
		text = release
	}
	if commit := set["vcs.revision"]; commit != "" {
		text += " (commit " + commit[:min(12, len(commit))] + " of " + set["vcs.time"]
		if set["vcs.modified"] == "true" {
			text += ", changed since"
		}
		text += ")"
	}
	return text + " " + info.GoVersion + " " + runtime.GOOS + "/" + runtime.GOARCH
}

// programHash tells programs apart: another one may find something else in
// the same files.
var programHash = sync.OnceValue(func() string {
	path, err := os.Executable()
	if err != nil {
		return ""
	}
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	hash, err := book.Hash(f)
	if err != nil {
		return ""
	}
	return hash[:12]
})

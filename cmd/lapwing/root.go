package main

import (
	"fmt"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
)

// newRoot returns the command with all its subcommands.
func newRoot() *cobra.Command {
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
			return c.Help()
		},
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return &callError{fmt.Sprintf("%s; see %q", err, c.CommandPath()+" --help")}
	})
	root.AddCommand(newAssess(), newInspect(), newVersion())
	return root
}

// unknownCommand names the nearest command.
func unknownCommand(c *cobra.Command, name string) error {
	text := fmt.Sprintf("found command %q, want one of ", name)
	if near := c.SuggestionsFor(name); len(near) > 0 {
		return &callError{text + strings.Join(near, ", ")}
	}
	var names []string
	for _, s := range c.Commands() {
		if s.IsAvailableCommand() {
			names = append(names, s.Name())
		}
	}
	return &callError{text + strings.Join(names, ", ")}
}

// noArgs refuses arguments, in one line.
func noArgs(c *cobra.Command, args []string) error {
	if len(args) > 0 {
		return &callError{fmt.Sprintf("found %q after %q, want nothing there", args[0], c.CommandPath())}
	}
	return nil
}

func newVersion() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version",
		Args:  noArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			version := "unknown"
			if info, ok := debug.ReadBuildInfo(); ok {
				version = info.Main.Version + " " + info.GoVersion
			}
			_, err := fmt.Fprintln(c.OutOrStdout(), "lapwing", version)
			return err
		},
	}
}

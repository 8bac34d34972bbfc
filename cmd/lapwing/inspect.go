package main

import (
	"github.com/spf13/cobra"
)

func newInspect() *cobra.Command {
	return &cobra.Command{Use: "inspect FILE ...", Hidden: true, Args: noArgs, RunE: func(*cobra.Command, []string) error { return nil }}
}

package main

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"cribgate/demo/tour"
)

func tourCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "tour",
		Short: "Play a day at the counter and tell it step by step",
		Long: `Builds an invented crib, plays a day at its counter without a browser, and tells
each step and what came of it. It fails where a step comes out otherwise than it
should. It takes well under a minute and leaves nothing behind.

` + caution,
		RunE: func(cmd *cobra.Command, _ []string) (err error) {
			dir, err := os.MkdirTemp("", "crib-tour-")
			if err != nil {
				return fmt.Errorf("make a directory: %w", err)
			}
			defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
			return tour.Run(cmd.Context(), dir, cmd.OutOrStdout())
		},
	}
}

package command

import (
	"fmt"

	"github.com/spf13/cobra"

	"cribgate/printtemplates"
)

func templatesCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "templates",
		Short: "List the tag stocks, one a line, the name first",
		Long: `Lists the tag stocks, one a line: its name, a tab and what it is. The name is what
print takes as --template.`,
		Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			names, err := printtemplates.List()
			if err != nil {
				return err
			}
			for _, name := range names {
				stock, err := printtemplates.Open(name)
				if err != nil {
					return err
				}
				if _, err := fmt.Fprintf(cmd.OutOrStdout(), "%s\t%s\n", stock.Name, stock.Title); err != nil {
					return fmt.Errorf("templates: write the list: %w", err)
				}
			}
			return nil
		},
	}
}

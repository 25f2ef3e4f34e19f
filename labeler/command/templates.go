package command

import (
	"fmt"

	"github.com/spf13/cobra"

	"cribgate/labeler/commandline"
	"cribgate/printtemplates"
)

func templatesCommand() *cobra.Command {
	var dir string
	cmd := &cobra.Command{
		Use:   "templates [--preview DIR]",
		Short: "List the stocks, one a line, the name first",
		Long: `Lists the stocks, one a line and a tab between: its name, what it is for (tag,
badge, slip), its size, what it is made of, in how many colours it is printed,
and a title. The name is what print takes as --template.

With --preview, each is drawn into a folder with invented content and the edge of
the blank: NAME.png, and for a sheet of many NAME-sheet.png too, of which the
first row has been used before. The symbol on a preview is no tag's. The files
are listed instead of the stocks.`,
		Example: `  labeler templates
  labeler templates --preview ./pictures`,
		RunE: func(cmd *cobra.Command, _ []string) error {
			write := listStocks
			if cmd.Flags().Changed("preview") {
				if dir == "" {
					return commandline.Usagef("templates: --preview names a folder")
				}
				write = func() ([]string, error) { return preview(dir) }
			}
			lines, err := write()
			if err != nil {
				return err
			}
			for _, line := range lines {
				if _, err := fmt.Fprintln(cmd.OutOrStdout(), line); err != nil {
					return fmt.Errorf("templates: write the list: %w", err)
				}
			}
			return nil
		},
	}
	cmd.Flags().StringVar(&dir, "preview", "", "`folder` to draw each stock into")
	return cmd
}

// listStocks describes each stock in a line.
func listStocks() ([]string, error) {
	names, err := printtemplates.List()
	if err != nil {
		return nil, err
	}
	var lines []string
	for _, name := range names {
		s, err := printtemplates.Open(name)
		if err != nil {
			return nil, err
		}
		lines = append(lines, fmt.Sprintf("%s\t%s\t%s\t%s\t%s\t%s", s.Name, s.Kind, size(s), s.Material, s.Process, s.Title))
	}
	return lines, nil
}

// size is that of the blank, and how many are on a sheet.
func size(s printtemplates.Stock) string {
	text := fmt.Sprintf("%s × %s", s.Width, s.Height)
	if s.Round {
		text = fmt.Sprintf("%s across", s.Width)
	}
	if n := s.Paper.Cells(); n > 1 {
		text += fmt.Sprintf(", %d a sheet", n)
	}
	return text
}

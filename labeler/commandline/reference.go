package commandline

import (
	"fmt"
	"go/format"
	"strings"

	"github.com/spf13/cobra"
)

// Doc is the text of a program's doc.go: its whole help as the comment of its
// package, so that "go doc" shows it. A test holds the file equal to it.
func Doc(root *cobra.Command) ([]byte, error) {
	var b strings.Builder
	for line := range strings.Lines(reference(root)) {
		if line = strings.TrimSuffix(line, "\n"); line != "" && line[0] != '\t' {
			line = " " + line
		}
		b.WriteString("//" + line + "\n")
	}
	text, err := format.Source([]byte(b.String() + "package main\n"))
	if err != nil {
		return nil, fmt.Errorf("commandline: doc.go of %s: %w", root.Name(), err)
	}
	return text, nil
}

// reference is the help as a package comment spells headings and code.
func reference(root *cobra.Command) string {
	var b strings.Builder
	fmt.Fprintf(&b, "The %s\n\n%s", root.Long, indent("Usage:\n\n  "+root.Name()+" COMMAND\n"+commands(root)))
	for _, c := range root.Commands() {
		if !c.IsAvailableCommand() {
			continue
		}
		fmt.Fprintf(&b, "\n# %s %s\n\n%s\n\n%s", root.Name(), c.Name(), c.Long, indent("Usage:\n\n  "+c.UseLine()+"\n"+flags(c)+examples(c)))
	}
	return b.String()
}

func commands(root *cobra.Command) string {
	var b strings.Builder
	for _, c := range root.Commands() {
		if c.IsAvailableCommand() {
			fmt.Fprintf(&b, "  %s  %s\n", fmt.Sprintf("%-*s", root.Commands()[0].NamePadding(), c.Name()), c.Short)
		}
	}
	return "\nCommands:\n\n" + b.String()
}

func flags(c *cobra.Command) string {
	if text := c.LocalFlags().FlagUsages(); text != "" {
		return "\nFlags:\n\n" + text
	}
	return ""
}

func examples(c *cobra.Command) string {
	if c.Example == "" {
		return ""
	}
	return "\nExamples:\n\n" + c.Example + "\n"
}

// indent makes code of a text: a tab before each line that is not empty.
func indent(text string) string {
	lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
	for i, line := range lines {
		if line = strings.TrimRight(line, " "); line != "" {
			line = "\t" + line
		}
		lines[i] = line
	}
	return strings.Join(lines, "\n") + "\n"
}

package commandline

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"
)

// Reference is the whole help of a program as one text: what it is, and each
// command with its flags, as a package comment spells headings and code. A
// program's own package comment is this text, and a test holds the two equal.
func Reference(root *cobra.Command) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s\n\n%s", root.Long, indent("Usage:\n\n  "+root.Name()+" COMMAND\n"+commands(root)))
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

package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"cribgate/kiosk/scan"
)

// errSomeImages says that every file was tried and some did not read.
var errSomeImages = errors.New("some images did not read")

func readCommand() *cobra.Command {
	var times bool
	cmd := &cobra.Command{
		Use:   "read IMAGE...",
		Short: "Read the QR symbol in pictures",
		Long: `Reads the QR symbol in each picture (PNG, JPEG, GIF or WebP) and writes one line
a file: the file's name, a tab and the text; or the name, a tab, "!", a tab and
the reason where it does not read. Tabs, line feeds and carriage returns in a
text are written as \t, \n and \r. With --times each line starts with the
milliseconds that the file took, decoding included, and a tab.`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, files []string) error {
			return readImages(cmd.Context(), cmd.OutOrStdout(), files, times)
		},
	}
	cmd.Flags().BoolVar(&times, "times", false, "put the milliseconds that each file took in front of its line")
	return cmd
}

func readImages(ctx context.Context, out io.Writer, files []string, times bool) error {
	var failed error
	for _, file := range files {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("read: %w", err)
		}
		start := time.Now()
		text, err := readImage(file)
		took := time.Since(start)
		line := file + "\t" + oneLine.Replace(text)
		if err != nil {
			line, failed = file+"\t!\t"+oneLine.Replace(err.Error()), errSomeImages
		}
		if times {
			line = fmt.Sprintf("%d\t%s", took.Milliseconds(), line)
		}
		if _, err := fmt.Fprintln(out, line); err != nil {
			return fmt.Errorf("write the texts: %w", err)
		}
	}
	return failed
}

var oneLine = strings.NewReplacer("\t", `\t`, "\n", `\n`, "\r", `\r`)

func readImage(file string) (string, error) {
	f, err := os.Open(file)
	if err != nil {
		return "", err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, scan.MaxBytes+1))
	if err != nil {
		return "", err
	}
	return scan.Image(data)
}

package command

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"runtime/debug"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"cribgate/core/release"
	"cribgate/kiosk/scan"
	"cribgate/kiosk/worn"
	"cribgate/store"
	"cribgate/store/keyring"
)

// errSomeImages says that every file was tried and some did not read.
var errSomeImages = errors.New("some images did not read")

func readCommand() *cobra.Command {
	var times bool
	var register string
	cmd := &cobra.Command{
		Use:   "read IMAGE...",
		Short: "Read the QR symbol in pictures",
		Long: `Reads the QR symbol in each picture (PNG, JPEG, GIF or WebP) and writes one line
a file: the file's name, a tab and the text; or the name, a tab, "!", a tab and
the reason where it does not read. Tabs, line feeds and carriage returns in a
text are written as \t, \n and \r. With --times each line starts with the
milliseconds that the file took, decoding included, and a tab.

With --register a symbol that is too worn to be read is compared with the tags that
hang on the slings of a register: the name, a tab, "~", a tab and the text of the one
that it resembles, where a wrong one is less likely than one in 10^12. A likeness is
not a reading: a sling goes out by it only with the end of its plate's
identification.`,
		Args: cobra.MinimumNArgs(1),
		RunE: func(cmd *cobra.Command, files []string) error {
			// What one picture takes is used again for the next: to sweep it meanwhile is a
			// tenth of the time. It may leave five times as much lying as is in use.
			defer debug.SetGCPercent(debug.SetGCPercent(400))
			r := imageReader{pictures: scan.NewReader(1), times: times}
			if register == "" {
				return r.images(cmd.Context(), cmd.OutOrStdout(), files)
			}
			return withTags(cmd, register, func(t *worn.Tags) error {
				r.tags = t
				return r.images(cmd.Context(), cmd.OutOrStdout(), files)
			})
		},
	}
	cmd.Flags().StringVar(&register, "register", "", "compare what cannot be read with the tags of this register: its file or directory")
	cmd.Flags().BoolVar(&times, "times", false, "put the milliseconds that each file took in front of its line")
	return cmd
}

// withTags opens a register to look at, and makes the index of its tags.
func withTags(cmd *cobra.Command, path string, use func(*worn.Tags) error) error {
	ctx := cmd.Context()
	register, _, keys := store.Paths(path)
	ring, err := keyring.Load(keys)
	if err != nil {
		return fmt.Errorf("keys: %w", err)
	}
	st, err := store.Open(ctx, register, store.Options{Program: release.Version(), Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		return err
	}
	t := worn.New(st, ring, slog.New(slog.DiscardHandler))
	_, err = t.Fill(ctx)
	if _, absent := t.Size(); err == nil && absent > 0 {
		_, err = fmt.Fprintf(cmd.ErrOrStderr(), "%d tags of the register are not compared: their texts cannot be made again here\n", absent)
	}
	if err == nil {
		err = use(t)
	}
	return errors.Join(err, st.Close())
}

// An imageReader reads files one after the other.
type imageReader struct {
	pictures *scan.Reader
	tags     *worn.Tags // nil: what cannot be read resembles nothing
	times    bool
}

func (r imageReader) images(ctx context.Context, out io.Writer, files []string) error {
	var failed error
	for _, file := range files {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("read: %w", err)
		}
		start := time.Now()
		text, like, err := r.image(ctx, file)
		took := time.Since(start)
		line := file + "\t" + oneLine.Replace(text)
		switch {
		case err != nil:
			line, failed = file+"\t!\t"+oneLine.Replace(err.Error()), errSomeImages
		case like:
			line = file + "\t~\t" + oneLine.Replace(text)
		}
		if r.times {
			line = fmt.Sprintf("%d\t%s", took.Milliseconds(), line)
		}
		if _, err := fmt.Fprintln(out, line); err != nil {
			return fmt.Errorf("write the texts: %w", err)
		}
	}
	return failed
}

var oneLine = strings.NewReplacer("\t", `\t`, "\n", `\n`, "\r", `\r`)

// image reads one file; like tells that it was not read, and resembles a tag.
func (r imageReader) image(ctx context.Context, file string) (text string, like bool, err error) {
	f, err := os.Open(file)
	if err != nil {
		return "", false, err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, scan.MaxBytes+1))
	if err != nil {
		return "", false, err
	}
	seen, grids, err := r.pictures.ReadGrids(ctx, data)
	if r.tags != nil && err != nil && len(grids) > 0 {
		if text, like, wrong := r.tags.Resembles(ctx, grids, nil); like || wrong != nil {
			return text, like, wrong
		}
	}
	return seen.Text(), false, err
}

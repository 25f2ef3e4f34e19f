package command

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"cribgate/core/due"
	"cribgate/core/gate"
	"cribgate/core/removal"
	"cribgate/core/strict"
)

// answer gives the line that answers one question line.
type answer func(line []byte) ([]byte, error)

func decide(line []byte) ([]byte, error) {
	q, err := gate.ParseQuestion(line)
	if err != nil {
		return nil, err
	}
	a, err := gate.Decide(q)
	if err != nil {
		return nil, err
	}
	return a.MarshalJSON()
}

func assess(line []byte) ([]byte, error) {
	q, err := removal.ParseQuestion(line)
	if err != nil {
		return nil, err
	}
	a, err := removal.Assess(q)
	if err != nil {
		return nil, err
	}
	return a.MarshalJSON()
}

func nextDue(line []byte) ([]byte, error) {
	q, err := due.ParseQuestion(line)
	if err != nil {
		return nil, err
	}
	a, err := due.Ask(q)
	if err != nil {
		return nil, err
	}
	return a.MarshalJSON()
}

// maxLine is the longest question line; a longer one is answered with an error.
const maxLine = 1 << 20

// errSomeLines says that every line was answered, some with an error.
var errSomeLines = errors.New("some lines were answered with an error")

// answerLines answers every line of in, in order. Blank lines are skipped. A
// line that cannot be answered gets its error, and the rest is still answered;
// the result is then errSomeLines.
func answerLines(in io.Reader, out io.Writer, f answer) error {
	r := bufio.NewReaderSize(in, 64<<10)
	w := bufio.NewWriter(out)
	var failed error
	for {
		line, err := readLine(r)
		if errors.Is(err, io.EOF) {
			break
		}
		var text []byte
		switch {
		case errors.Is(err, errLongLine):
			text, failed = errorLine(nil, err), errSomeLines
		case err != nil:
			return fmt.Errorf("read the questions: %w", err)
		case len(bytes.TrimSpace(line)) == 0:
			continue
		default:
			if text, err = f(line); err != nil {
				text, failed = errorLine(line, err), errSomeLines
			}
		}
		if _, err := w.Write(append(text, '\n')); err != nil {
			return fmt.Errorf("write the answers: %w", err)
		}
		if r.Buffered() == 0 { // nobody waits for an answer that lies here
			if err := w.Flush(); err != nil {
				return fmt.Errorf("write the answers: %w", err)
			}
		}
	}
	if err := w.Flush(); err != nil {
		return fmt.Errorf("write the answers: %w", err)
	}
	return failed
}

var errLongLine = fmt.Errorf("a line is longer than %d bytes", maxLine)

// readLine gives the next line without its line feed. A line over maxLine is
// read to its end and given up.
func readLine(r *bufio.Reader) ([]byte, error) {
	var line []byte
	long := false
	for {
		part, err := r.ReadSlice('\n')
		if long = long || len(line)+len(part) > maxLine; !long {
			line = append(line, part...)
		}
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			continue
		case errors.Is(err, io.EOF) && (len(line) > 0 || long):
		case err != nil:
			return nil, err
		}
		if long {
			return nil, errLongLine
		}
		return bytes.TrimSuffix(line, []byte("\n")), nil
	}
}

// errorLine answers a line with why it cannot be answered, and with its id
// where it has one.
func errorLine(line []byte, cause error) []byte {
	var w strict.Writer
	w.Begin()
	if id, ok := strict.LineID(line); ok {
		w.Str("id", id)
	} else {
		w.Null("id")
	}
	w.Str("error", cause.Error())
	w.End()
	text, err := w.Bytes()
	if err != nil { // the cause quotes bytes that are not UTF-8
		return []byte(`{"id":null,"error":"the line is not UTF-8"}`)
	}
	return text
}

func linesCommand(use, short, long string, f answer) *cobra.Command {
	return &cobra.Command{
		Use: use, Short: short, Long: long,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return answerLines(cmd.InOrStdin(), cmd.OutOrStdout(), f)
		},
	}
}

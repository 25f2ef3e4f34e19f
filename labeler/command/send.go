package command

import (
	"context"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"github.com/spf13/cobra"

	"cribgate/labeler/commandline"
	"cribgate/labeler/printer"
)

const sendLong = `Sends a PDF or a PNG to a printer and follows it until the printer says what became
of it. It says "printed" only when the printer says that the job is finished:
accepted is not printed. While it waits, each change is told on a terminal, such
as that there is no media.

--to is ipp://HOST/PATH, ipps://HOST/PATH or tcp://HOST:PORT. ipps is encrypted, and
the printer has to prove itself: --printer-ca names the certificates of your own
authority, where the system does not know it. The printer is told to keep sizes;
where it does not say that it can, that is said, and one print should be measured.

tcp is a raw socket, for a printer that takes PDF or PNG as it comes. It says nothing
back, so that the file is sent and no more is known; the exit status is 0 then too.

A job without any change for --patience is cancelled, and so is one that is
interrupted. Where the printer vanishes, it is not known what was printed, and that
is what is said.`

// printerFlags say to which printer something goes.
type printerFlags struct {
	to, ca   string
	patience time.Duration
}

func (f *printerFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.StringVar(&f.to, "to", "", "`URL` of a printer: ipp://HOST/PATH, ipps://HOST/PATH or tcp://HOST:PORT")
	flags.StringVar(&f.ca, "printer-ca", "", "`file` of certificates in PEM that vouch for an ipps printer, instead of the system's")
	flags.DurationVar(&f.patience, "patience", printer.Patience, "`time` without any change after which a job is cancelled")
}

// check refuses what says no printer.
func (f printerFlags) check(cmd *cobra.Command) error {
	address, err := printer.ParseAddress(f.to)
	switch {
	case err != nil:
		return commandline.Usagef("%s: --to: %w", cmd.Name(), err)
	case commandline.Typed(cmd, "printer-ca") && !address.TLS():
		return commandline.Usagef("%s: --printer-ca is for ipps", cmd.Name())
	case f.patience <= 0:
		return commandline.Usagef("%s: --patience is no time at all", cmd.Name())
	}
	return nil
}

// errCertificates: a file has none.
var errCertificates = errors.New("there is no certificate in it that can be read")

// open makes the printer ready to be spoken to, which tells its news on w.
func (f printerFlags) open(w io.Writer) (*printer.Printer, error) {
	address, err := printer.ParseAddress(f.to)
	if err != nil {
		return nil, err
	}
	terminal := commandline.Terminal(w)
	o := printer.Options{
		Patience: f.patience,
		Say:      func(n printer.News) { fmt.Fprintln(terminal, n) }, // that it cannot be told is no reason to end the job
	}
	if f.ca != "" && address.TLS() {
		text, err := os.ReadFile(f.ca)
		if err != nil {
			return nil, fmt.Errorf("read certificates: %w", err)
		}
		o.Authorities = x509.NewCertPool()
		if !o.Authorities.AppendCertsFromPEM(text) {
			return nil, fmt.Errorf("read certificates: %s: %w", f.ca, errCertificates)
		}
	}
	return printer.New(address, o), nil
}

func sendCommand() *cobra.Command {
	var f printerFlags
	cmd := &cobra.Command{
		Use:   "send FILE --to URL",
		Short: "Send a PDF or PNG to a printer and follow it until it is printed",
		Long:  sendLong,
		Example: `  labeler send tags.pdf --to ipp://printer.example/ipp/print
  labeler send tag.png --to tcp://192.0.2.7:9100`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) != 1 {
				return commandline.Usagef("send: one file is sent; %d are named", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if f.to == "" {
				return commandline.Usagef("send: --to is missing")
			}
			if err := f.check(cmd); err != nil {
				return err
			}
			return f.send(cmd.Context(), args[0], cmd.OutOrStdout(), cmd.ErrOrStderr())
		},
	}
	f.add(cmd)
	return cmd
}

func (f printerFlags) send(ctx context.Context, file string, stdout, stderr io.Writer) error {
	doc, err := printer.OpenFile(file)
	if err != nil {
		return err
	}
	p, err := f.open(stderr)
	if err != nil {
		return err
	}
	defer p.Close()
	outcome := p.Send(ctx, doc)
	if err := outcome.Err(); err != nil {
		return fmt.Errorf("send %s to %s: %w", file, p.Address(), err)
	}
	return say(stdout, fmt.Sprintf("%s: %s\n%s", file, arrived(p, outcome), sizesInDoubt(outcome)))
}

// arrived says what became of something that has not failed.
func arrived(p *printer.Printer, o printer.Outcome) string {
	if o.End == printer.Sent {
		return fmt.Sprintf("%s: look at %s", o, p.Address())
	}
	return fmt.Sprintf("%s by %s", o, p.Address())
}

// sizesInDoubt says that a print has to be measured, if so: a scaled symbol has
// modules of another size than the stock says, and a scaled card lies.
func sizesInDoubt(o printer.Outcome) string {
	if o.KeepsSize {
		return ""
	}
	return "the printer has not said that it keeps sizes: measure a print\n"
}

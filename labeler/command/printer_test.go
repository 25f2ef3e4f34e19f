package command_test

import (
	"io"
	"net"
	"os"
	"path/filepath"
	"strconv"
	"sync"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"cribgate/labeler/printer/ipp"
	"cribgate/labeler/printer/printertest"
)

// printers are the printers of scripts, by their URL.
type printers struct {
	t  *testing.T
	mu sync.Mutex
	by map[string]*printertest.Printer
}

// kinds are what can be wrong with a printer.
var kinds = map[string]func(*printertest.Printer){
	"good": func(*printertest.Printer) {},
	"failing": func(p *printertest.Printer) {
		p.Script(ipp.GetJobAttributes, printertest.State(8, "aborted-by-system"))
	},
	"vanishing": func(p *printertest.Printer) { p.Script(ipp.PrintJob, printertest.Drop()) },
	"second-failing": func(p *printertest.Printer) {
		p.Script(ipp.GetJobAttributes, printertest.State(9), printertest.State(8))
	},
	"png": func(p *printertest.Printer) {
		p.Script(ipp.GetPrinterAttributes, printertest.Reply{Do: func(a *printertest.Answer) {
			a.Set(ipp.OfPrinter, "document-format-supported", ipp.Mime("image/png"))
			a.Set(ipp.OfPrinter, "print-scaling-supported")
		}})
	},
	"jpeg": func(p *printertest.Printer) {
		p.Script(ipp.GetPrinterAttributes, printertest.Reply{Do: func(a *printertest.Answer) {
			a.Set(ipp.OfPrinter, "document-format-supported", ipp.Mime("image/jpeg"))
		}})
	},
}

// start KIND starts a printer and sets PRINTER to its URL.
func (ps *printers) start(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 || kinds[args[0]] == nil {
		ts.Fatalf("usage: printer kind")
	}
	p := printertest.New(ps.t)
	kinds[args[0]](p)
	ps.mu.Lock()
	defer ps.mu.Unlock()
	ps.by[p.URL] = p
	ts.Setenv("PRINTER", p.URL)
}

// arrived DIR writes the documents that came to PRINTER into a new folder, 1, 2, 3.
func (ps *printers) arrived(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: arrived dir")
	}
	ps.mu.Lock()
	p := ps.by[ts.Getenv("PRINTER")]
	ps.mu.Unlock()
	ts.Check(os.Mkdir(ts.MkAbs(args[0]), 0o700))
	for i, job := range p.Jobs() {
		ts.Check(os.WriteFile(filepath.Join(ts.MkAbs(args[0]), strconv.Itoa(i+1)), job.Document, 0o600))
	}
}

// socket FILE starts a raw printer for one document, which comes into a file,
// and sets PRINTER to its URL.
func (ps *printers) socket(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: socket file")
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	ts.Check(err)
	file, err := os.Create(ts.MkAbs(args[0]))
	ts.Check(err)
	done := make(chan error, 1)
	go func() {
		conn, err := l.Accept()
		if err == nil {
			_, err = io.Copy(file, conn)
			conn.Close()
		}
		done <- err
	}()
	ts.Defer(func() {
		l.Close()
		if err := <-done; err != nil {
			ts.Logf("socket: %v", err)
		}
		file.Close()
	})
	ts.Setenv("PRINTER", "tcp://"+l.Addr().String())
}

package printer

import (
	"bytes"
	"crypto/x509"
	"errors"
	"io"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"cribgate/labeler/printer/ipp"
	"cribgate/labeler/printer/printertest"
)

// atOnce is a clock for which no wait is long.
func atOnce(time.Duration) <-chan time.Time {
	c := make(chan time.Time)
	close(c)
	return c
}

// A teller keeps what was said.
type teller struct {
	mu   sync.Mutex
	said []string
}

func (l *teller) say(n News) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.said = append(l.said, n.String())
}

func (l *teller) list() []string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return slices.Clone(l.said)
}

// at returns a printer at that address for which no wait is long.
func at(t *testing.T, url string, o Options) (*Printer, *teller) {
	t.Helper()
	a, err := ParseAddress(url)
	if err != nil {
		t.Fatal(err)
	}
	said := &teller{}
	o.Say = said.say
	if o.After == nil {
		o.After = atOnce
	}
	p := New(a, o)
	t.Cleanup(p.Close)
	return p, said
}

// paper is a document of so many bytes.
func paper(size int) Document {
	data := append([]byte("%PDF-1.7\n"), bytes.Repeat([]byte("x"), size)...)
	return Document{Name: "tags.pdf", Format: PDF, Open: func() (io.ReadCloser, error) {
		return io.NopCloser(bytes.NewReader(data)), nil
	}}
}

func contents(t *testing.T, d Document) []byte {
	t.Helper()
	r, err := d.Open()
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

const large = 8 << 20 // more than sockets hold

func TestPrinted(t *testing.T) {
	fake := printertest.New(t)
	p, said := at(t, fake.URL, Options{})
	doc := paper(large)
	out := p.Send(t.Context(), doc)
	if out.End != Printed || out.Job != 1 || out.Err() != nil || !out.KeepsSize {
		t.Fatalf("outcome %+v: %v", out, out.Err())
	}
	if got := out.String(); got != "printed (job 1)" {
		t.Errorf("%q", got)
	}
	want := []string{"the document is being sent", "job 1: the job is being printed"}
	if got := said.list(); !slices.Equal(got, want) {
		t.Errorf("said %q, want %q", got, want)
	}
	jobs := fake.Jobs()
	if len(jobs) != 1 || !bytes.Equal(jobs[0].Document, contents(t, doc)) || jobs[0].Format != "application/pdf" {
		t.Fatalf("%d jobs, of %d bytes", len(jobs), len(jobs[0].Document))
	}
	// What is asked so that sizes stay true, in a request that says who asks.
	ask := jobs[0].Request
	if n, ok := ask.Int(ipp.OfJob, "copies"); !ok || n != 1 {
		t.Errorf("copies %d, %v", n, ok)
	}
	for name, want := range map[string]string{"print-scaling": "none", "sides": "one-sided"} {
		if got := ask.Text(ipp.OfJob, name); got != want {
			t.Errorf("%s %q, want %q", name, got, want)
		}
	}
	if b, ok := ask.Bool(ipp.OfOperation, "ipp-attribute-fidelity"); !ok || !b {
		t.Error("the printer may put something else in the place of what is asked")
	}
	if got := ask.Text(ipp.OfOperation, "requesting-user-name"); got != "labeler" {
		t.Errorf("user %q", got)
	}
	if got := ask.Text(ipp.OfOperation, "printer-uri"); got != fake.URL {
		t.Errorf("printer-uri %q, want %q", got, fake.URL)
	}
	if g := ask.Groups[0].Attributes; g[0].Name != "attributes-charset" || g[1].Name != "attributes-natural-language" {
		t.Errorf("the request begins with %q, %q (RFC 8010; from memory, not seen)", g[0].Name, g[1].Name)
	}
	if fake.Asked(ipp.ValidateJob) != 1 {
		t.Error("the job was not checked before it was sent")
	}
}

// What is said before the document is sent leaves nothing at the printer.
func TestRefused(t *testing.T) {
	set := func(name string, v ...ipp.Value) printertest.Reply {
		return printertest.Reply{Do: func(a *printertest.Answer) { a.Set(ipp.OfPrinter, name, v...) }}
	}
	for _, c := range []struct {
		name  string
		op    ipp.Operation
		reply printertest.Reply
		want  error // nil: any
		says  string
	}{
		{"another format", ipp.GetPrinterAttributes, set("document-format-supported", ipp.Mime("image/jpeg"), ipp.Mime("image/pwg-raster")), ErrFormat, "it takes image/jpeg, image/pwg-raster"},
		{"no format", ipp.GetPrinterAttributes, set("document-format-supported"), ErrFormat, "takes"},
		{"takes no jobs", ipp.GetPrinterAttributes, set("printer-is-accepting-jobs", ipp.Boolean(false)), ErrNotAccepting, "accepts no jobs"},
		{"no such printer", ipp.GetPrinterAttributes, printertest.Status(ipp.NotFound), nil, "it knows no such printer or job (IPP status 0406)"},
		{"check fails", ipp.ValidateJob, printertest.Reply{Do: func(a *printertest.Answer) {
			a.Message.Code = 0x040B
			a.Set(ipp.OfOperation, "status-message", ipp.Text("no\nway"))
			a.Set(ipp.OfUnsupported, "sides", ipp.Value{Tag: 0x10})
		}}, nil, `"no way": sides`},
		{"check vanishes", ipp.ValidateJob, printertest.Drop(), nil, ""},
		{"print declined", ipp.PrintJob, printertest.Status(ipp.FormatNotSupported), nil, "it does not take this kind of document"},
		{"print not accepted", ipp.PrintJob, printertest.Status(ipp.NotAcceptingJobs), nil, "accepts no jobs"},
		{"signing in", ipp.GetPrinterAttributes, printertest.Reply{Do: func(a *printertest.Answer) { a.HTTP = 401 }}, nil, "wants somebody to sign in"},
		{"signing in for the job", ipp.PrintJob, printertest.Reply{Do: func(a *printertest.Answer) { a.HTTP = 403 }}, nil, "wants somebody to sign in"},
		{"sent elsewhere", ipp.PrintJob, printertest.Reply{Do: func(a *printertest.Answer) { a.HTTP = 307 }}, nil, "HTTP status 307"},
	} {
		t.Run(c.name, func(t *testing.T) {
			fake := printertest.New(t)
			fake.Script(c.op, c.reply)
			p, _ := at(t, fake.URL, Options{})
			out := p.Send(t.Context(), paper(10))
			if out.End != Refused || !errors.Is(out.Err(), ErrNotPrinted) || c.want != nil && !errors.Is(out.Err(), c.want) || !strings.Contains(out.String(), c.says) {
				t.Errorf("end %d: %s", out.End, out)
			}
		})
	}
	t.Run("nobody there", func(t *testing.T) {
		fake := printertest.New(t)
		fake.Stop()
		p, _ := at(t, fake.URL, Options{})
		if out := p.Send(t.Context(), paper(10)); out.End != Refused {
			t.Errorf("%s", out)
		}
	})
	t.Run("document that cannot be read", func(t *testing.T) {
		fake := printertest.New(t)
		p, _ := at(t, fake.URL, Options{})
		doc := paper(10)
		broken := errors.New("the disk is broken")
		doc.Open = func() (io.ReadCloser, error) { return nil, broken }
		if out := p.Send(t.Context(), doc); out.End != Refused || !errors.Is(out.Err(), broken) || len(fake.Jobs()) > 0 {
			t.Errorf("%s", out)
		}
	})
}

// A printer that does not know the question whether it would take the job gets
// the job.
func TestNoValidate(t *testing.T) {
	fake := printertest.New(t)
	fake.Script(ipp.ValidateJob, printertest.Status(ipp.NotSupported))
	p, _ := at(t, fake.URL, Options{})
	if out := p.Send(t.Context(), paper(10)); out.End != Printed {
		t.Errorf("%s", out)
	}
}

// What a printer does not say that it can is not asked of it, and sizes are
// then in doubt.
func TestAsksNothingUnknown(t *testing.T) {
	fake := printertest.New(t)
	fake.Script(ipp.GetPrinterAttributes, printertest.Reply{Do: func(a *printertest.Answer) {
		a.Set(ipp.OfPrinter, "print-scaling-supported", ipp.Keyword("fit"))
		a.Set(ipp.OfPrinter, "sides-supported")
		a.Set(ipp.OfPrinter, "copies-supported")
	}})
	p, _ := at(t, fake.URL, Options{})
	out := p.Send(t.Context(), paper(10))
	if out.End != Printed || out.KeepsSize {
		t.Errorf("keeps size %v: %s", out.KeepsSize, out)
	}
	if ask := fake.Jobs()[0].Request; len(ask.Groups) != 1 {
		t.Errorf("asked %+v", ask.Groups[1])
	}
}

// A printer that took the job and put something else in the place of what was
// asked has not said that it keeps sizes.
func TestSubstituted(t *testing.T) {
	fake := printertest.New(t)
	fake.Script(ipp.PrintJob, printertest.Reply{Do: func(a *printertest.Answer) { a.Message.Code = 1 }})
	p, _ := at(t, fake.URL, Options{})
	if out := p.Send(t.Context(), paper(10)); out.End != Printed || out.KeepsSize {
		t.Errorf("keeps size %v: %s", out.KeepsSize, out)
	}
}

func TestBusyThenRetried(t *testing.T) {
	busy := []printertest.Reply{printertest.Status(ipp.Busy), printertest.Status(ipp.ServiceUnavailable), printertest.Status(ipp.TooManyJobs), {}}
	for _, op := range []ipp.Operation{ipp.GetPrinterAttributes, ipp.ValidateJob, ipp.PrintJob} {
		fake := printertest.New(t)
		fake.Script(op, busy...)
		p, said := at(t, fake.URL, Options{})
		doc := paper(large)
		out := p.Send(t.Context(), doc)
		if out.End != Printed || fake.Asked(op) < len(busy) {
			t.Errorf("%04x: %s, asked %d times", op, out, fake.Asked(op))
		}
		if got := said.list(); !slices.Contains(got, "the printer is busy") {
			t.Errorf("%04x: said %q", op, got)
		}
		jobs := fake.Jobs()
		if last := jobs[len(jobs)-1]; !bytes.Equal(last.Document, contents(t, doc)) {
			t.Errorf("%04x: %d bytes arrived in the end", op, len(last.Document))
		}
	}
	// For ever busy is refused once patience ends.
	fake := printertest.New(t)
	fake.Script(ipp.ValidateJob, printertest.Status(ipp.Busy))
	p, _ := at(t, fake.URL, Options{Patience: time.Minute})
	if out := p.Send(t.Context(), paper(10)); out.End != Refused || fake.Asked(ipp.PrintJob) > 0 {
		t.Errorf("%s", out)
	}
}

// Nobody can say what became of a document whose printer failed once it had a
// part of it.
func TestUnknown(t *testing.T) {
	raw := func(b []byte) printertest.Reply {
		return printertest.Reply{Do: func(a *printertest.Answer) { a.Raw = b }}
	}
	for _, c := range []struct {
		name  string
		reply printertest.Reply
		says  string
	}{
		{"vanishes half way", printertest.Vanish(), ""},
		{"vanishes before it answers", printertest.Drop(), ""},
		{"has a fault inside", printertest.Status(0x0500), "a fault inside"},
		{"has a fault that passes", printertest.Status(0x0505), "a fault that passes"},
		{"fails without the job", printertest.Status(ipp.DeviceError), "the device has a fault"},
		{"gives no number", printertest.Reply{Do: func(a *printertest.Answer) { a.Set(ipp.OfJob, "job-id") }}, "gives it no number"},
		{"an unknown status", printertest.Status(0x0999), "no known meaning"},
		{"another request's answer", printertest.Reply{Do: func(a *printertest.Answer) { a.Message.ID += 7 }}, "it answers request"},
		{"another version", printertest.Reply{Do: func(a *printertest.Answer) { a.Message.Version = ipp.Version{Major: 9, Minor: 3} }}, "version 9.3"},
		{"cut short", raw([]byte("\x01\x01\x00\x00\x00\x00\x00\x03\x01\x47\x00\x12attr")), "it ends too early"},
		{"endless", raw(append([]byte("\x01\x01\x00\x00\x00\x00\x00\x03\x01"), bytes.Repeat([]byte("\x47\x00\x01n\x00\x01v"), 300000)...)), "larger than"},
		{"nothing", raw([]byte{}), "it ends too early"},
		{"a page", printertest.Reply{Do: func(a *printertest.Answer) { a.Type, a.Raw = "text/html", []byte("<p>hello") }}, `it is "text/html"`},
		{"a gateway's fault", printertest.Reply{Do: func(a *printertest.Answer) { a.HTTP = 502 }}, "HTTP status 502"},
	} {
		t.Run(c.name, func(t *testing.T) {
			fake := printertest.New(t)
			fake.Script(ipp.PrintJob, c.reply)
			p, _ := at(t, fake.URL, Options{})
			size := 10
			if c.reply.Early {
				size = large
			}
			out := p.Send(t.Context(), paper(size))
			if out.End != Unknown || !errors.Is(out.Err(), ErrUnknown) || !strings.Contains(out.String(), c.says) {
				t.Errorf("end %d: %s", out.End, out)
			}
			if fake.Asked(ipp.PrintJob) != 1 {
				t.Errorf("sent %d times", fake.Asked(ipp.PrintJob))
			}
		})
	}
}

// The same answers to a question that moves nothing are a refusal, not a doubt.
func TestHostileBeforeTheDocument(t *testing.T) {
	fake := printertest.New(t)
	fake.Script(ipp.GetPrinterAttributes, printertest.Reply{Do: func(a *printertest.Answer) { a.Message.ID++ }})
	p, _ := at(t, fake.URL, Options{})
	if out := p.Send(t.Context(), paper(10)); out.End != Refused || !errors.Is(out.Err(), ErrAnswer) {
		t.Errorf("%s", out)
	}
}

// A printer that takes no more of the document, or gives no answer, is not
// waited for without end.
func TestHangs(t *testing.T) {
	for _, op := range []ipp.Operation{ipp.GetPrinterAttributes, ipp.PrintJob} {
		fake := printertest.New(t)
		release := make(chan struct{})
		fake.Script(op, printertest.Reply{Early: true, Do: func(*printertest.Answer) { <-release }})
		p, _ := at(t, fake.URL, Options{Patience: 200 * time.Millisecond, AnswerTime: 200 * time.Millisecond})
		out := p.Send(t.Context(), paper(large))
		close(release)
		want, cause := Refused, "no answer in 200ms"
		if op == ipp.PrintJob {
			want, cause = Unknown, "took no more of the document"
		}
		if out.End != want || !strings.Contains(out.String(), cause) {
			t.Errorf("%04x: %s", op, out)
		}
	}
}

func TestTLS(t *testing.T) {
	fake, server := printertest.NewTLS(t)
	pool := x509.NewCertPool()
	pool.AddCert(server.Certificate())
	p, _ := at(t, fake.URL, Options{Authorities: pool})
	if out := p.Send(t.Context(), paper(10)); out.End != Printed {
		t.Errorf("%s", out)
	}
	// Nobody vouches for it: nothing is sent, and there is no way round.
	p, _ = at(t, fake.URL, Options{})
	if out := p.Send(t.Context(), paper(10)); out.End != Refused || !errors.Is(out.Err(), ErrCertificate) {
		t.Errorf("%s", out)
	}
	// It vouches for another name.
	p, _ = at(t, strings.Replace(fake.URL, "127.0.0.1", "localhost", 1), Options{Authorities: pool})
	if out := p.Send(t.Context(), paper(10)); out.End != Refused || !errors.Is(out.Err(), ErrCertificate) {
		t.Errorf("%s", out)
	}
	if n := len(fake.Jobs()); n != 1 {
		t.Errorf("%d jobs", n)
	}
}

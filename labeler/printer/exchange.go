package printer

import (
	"bufio"
	"bytes"
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"

	"cribgate/labeler/printer/ipp"
)

// Errors of speaking with a printer.
var (
	// ErrCertificate: nobody whom we trust vouches for the printer.
	ErrCertificate = errors.New("its certificate does not prove that it is this printer")
	// ErrAnswer: what came back is no answer to the request.
	ErrAnswer = errors.New("the printer's answer makes no sense")
)

// A StatusError is a printer's answer that it did not do what it was asked.
type StatusError struct {
	Status      ipp.Status
	Says        string   // the printer's own words
	Unsupported []string // attributes of the request
}

func (e *StatusError) Error() string {
	s := "the printer answers: " + e.Status.String()
	if e.Says != "" {
		s += fmt.Sprintf(" %q", e.Says)
	}
	if len(e.Unsupported) > 0 {
		s += ": " + strings.Join(e.Unsupported, ", ")
	}
	return s
}

// An httpError is an answer from below IPP.
type httpError int

func (e httpError) Error() string {
	what := "the printer refuses the connection's request"
	switch int(e) {
	case http.StatusUnauthorized, http.StatusForbidden:
		what = "the printer wants somebody to sign in, which this program cannot"
	case http.StatusNotFound:
		what = "there is no printer at this path"
	case http.StatusUpgradeRequired:
		what = "the printer wants encryption: ipps"
	}
	return fmt.Sprintf("%s (HTTP status %d)", what, int(e))
}

// declined reports whether the fault lies in the request, so that nothing came
// of it.
func (e httpError) declined() bool {
	return e >= 300 && e < 500 && e != http.StatusRequestTimeout
}

// client makes the connections: straight to the printer, followed nowhere else.
func client(o Options) *http.Client {
	return &http.Client{
		Transport: &http.Transport{
			DialContext:            (&net.Dialer{Timeout: o.AnswerTime}).DialContext,
			TLSClientConfig:        &tls.Config{RootCAs: o.Authorities, MinVersion: tls.VersionTLS12},
			TLSHandshakeTimeout:    o.AnswerTime,
			MaxResponseHeaderBytes: 64 << 10,
			DisableCompression:     true,
		},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
}

// request begins a request about this printer.
func (p *Printer) request(op ipp.Operation, job int32) ipp.Message {
	p.requests++
	g := ipp.Group{Tag: ipp.OfOperation}
	g.Add("attributes-charset", ipp.Charset("utf-8"))
	g.Add("attributes-natural-language", ipp.Language("en"))
	g.Add("printer-uri", ipp.URI(p.address.String()))
	if job != 0 {
		g.Add("job-id", ipp.Integer(job))
	}
	g.Add("requesting-user-name", ipp.Name("labeler"))
	return ipp.Message{Version: ipp.Version{Major: 1, Minor: 1}, Code: uint16(op), ID: p.requests, Groups: []ipp.Group{g}}
}

// ask makes a request without a document, within the time for an answer.
func (p *Printer) ask(ctx context.Context, m ipp.Message) (ipp.Message, error) {
	ctx, stop := context.WithTimeoutCause(ctx, p.options.AnswerTime, fmt.Errorf("no answer in %s", p.options.AnswerTime))
	defer stop()
	head, err := m.Encode()
	if err != nil {
		return ipp.Message{}, err
	}
	answer, err := p.post(ctx, m.ID, bytes.NewReader(head))
	if err != nil {
		return ipp.Message{}, err
	}
	return answer, statusError(answer)
}

// post makes a request and reads the answer, whatever its status.
func (p *Printer) post(ctx context.Context, id int32, body io.Reader) (ipp.Message, error) {
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, p.address.http(), body)
	if err != nil {
		return ipp.Message{}, err
	}
	req.Header.Set("Content-Type", ipp.MediaType)
	req.Header.Set("User-Agent", "labeler")
	resp, err := p.http.Do(req)
	if err != nil {
		return ipp.Message{}, clearer(ctx, err)
	}
	defer resp.Body.Close() // only read from
	if resp.StatusCode != http.StatusOK {
		return ipp.Message{}, httpError(resp.StatusCode)
	}
	if kind, _, _ := strings.Cut(resp.Header.Get("Content-Type"), ";"); !strings.EqualFold(strings.TrimSpace(kind), ipp.MediaType) {
		return ipp.Message{}, fmt.Errorf("%w: it is %q", ErrAnswer, plain(kind))
	}
	answer, err := ipp.Decode(bufio.NewReader(resp.Body))
	switch {
	case err != nil && ctx.Err() != nil:
		return ipp.Message{}, context.Cause(ctx)
	case err != nil:
		return ipp.Message{}, fmt.Errorf("%w: %w", ErrAnswer, err)
	case answer.Version.Major != 1 && answer.Version.Major != 2:
		return ipp.Message{}, fmt.Errorf("%w: version %d.%d", ErrAnswer, answer.Version.Major, answer.Version.Minor)
	case answer.ID != id:
		return ipp.Message{}, fmt.Errorf("%w: it answers request %d, not %d", ErrAnswer, answer.ID, id)
	}
	return answer, nil
}

// clearer puts the cause in the place of what the client says of it.
func clearer(ctx context.Context, err error) error {
	var cert *tls.CertificateVerificationError
	switch {
	case errors.As(err, &cert):
		return fmt.Errorf("%w: %s", ErrCertificate, plain(cert.Err.Error())) // the names in it are the other side's
	case ctx.Err() != nil:
		return context.Cause(ctx)
	}
	return err
}

// statusError is nil where the answer says that it was done.
func statusError(answer ipp.Message) error {
	s := ipp.Status(answer.Code)
	if s.Ok() {
		return nil
	}
	e := &StatusError{Status: s, Says: plain(answer.Text(ipp.OfOperation, "status-message"))}
	for _, g := range answer.Groups {
		if g.Tag != ipp.OfUnsupported {
			continue
		}
		for _, a := range g.Attributes {
			if len(e.Unsupported) < mostReasons {
				e.Unsupported = append(e.Unsupported, plain(a.Name))
			}
		}
	}
	return e
}

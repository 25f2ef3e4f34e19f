package printer

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/big"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/labeler/printer/printertest"
)

// TestRealPrinter prints to a printer program that is not ours.
func TestRealPrinter(t *testing.T) {
	printertest.Alone(t, []printertest.Case{
		{Name: "Printed", Run: realPrinted},
		{Name: "Asks", Run: realAsks},
		{Name: "StopsAndGoesOn", Run: realStops},
		{Name: "Fails", Run: realFails},
		{Name: "KilledWhilePrinting", Run: realKilledWhilePrinting},
		{Name: "KilledWhileSending", Run: realKilledWhileSending},
		{Name: "CancelledByUs", Run: realCancelled},
		{Name: "AnotherFormat", Run: realFormat},
		{Name: "TLS", Run: realTLS},
	})
}

// soon is a clock that hurries, and still lets others work.
func soon(d time.Duration) <-chan time.Time { return time.After(d / 20) }

func realPrinted(t *testing.T) {
	d := printertest.NewDevice(t, `cp "$1" got`)
	p, said := at(t, d.URL("ipp"), Options{After: soon})
	about, err := p.Ask(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if !about.Takes(PDF) || !about.Takes(PNG) || !about.Accepting || about.Stopped || about.Name != d.Name() {
		t.Errorf("%+v", about)
	}
	doc := paper(3 << 20)
	out := p.Send(t.Context(), doc)
	if out.End != Printed || out.Job == 0 || out.Err() != nil {
		t.Fatalf("%+v: %s", out, out)
	}
	got, err := os.ReadFile(d.File("got"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, contents(t, doc)) {
		t.Errorf("%d bytes came to the device, %d were sent", len(got), len(contents(t, doc)))
	}
	if out.KeepsSize {
		t.Error("it does not say that it keeps sizes, and we do")
	}
	if list := said.list(); len(list) < 2 || list[0] != "the document is being sent" {
		t.Errorf("said %q", list)
	}
	// A picture too, on the same printer.
	png := doc
	png.Name, png.Format = "tag.png", PNG
	if again := p.Send(t.Context(), png); again.End != Printed || again.Job == out.Job {
		t.Errorf("%s", again)
	}
}

// What is asked of the printer comes to the device.
func realAsks(t *testing.T) {
	d := printertest.NewDevice(t, `env | sort > asked`)
	p, _ := at(t, d.URL("ipp"), Options{After: soon})
	if out := p.Send(t.Context(), paper(100)); out.End != Printed {
		t.Fatalf("%s", out)
	}
	asked, err := os.ReadFile(d.File("asked"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"IPP_SIDES=one-sided", "IPP_COPIES=1", "IPP_JOB_ORIGINATING_USER_NAME=labeler", "IPP_DOCUMENT_FORMAT_SUPPLIED=application/pdf"} {
		if !strings.Contains("\n"+string(asked), "\n"+want+"\n") {
			t.Errorf("the device was not told %s:\n%s", want, asked)
		}
	}
}

// The device runs out of media, is seen to, and goes on.
func realStops(t *testing.T) {
	d := printertest.NewDevice(t, `mkfifo loaded
echo "STATE: +media-empty,cover-open" >&2
read x < loaded
echo "STATE: -media-empty,cover-open" >&2
cp "$1" got`)
	p, said := at(t, d.URL("ipp"), Options{})
	p.options.After = soon
	heard := false
	p.options.Say = func(n News) {
		said.say(n)
		if slices.Contains(n.Reasons, "there is no media") && !heard {
			heard = true
			printertest.Until(t, "the device", printertest.Exists(d.File("loaded")))
			if err := os.WriteFile(d.File("loaded"), []byte("go\n"), 0); err != nil {
				t.Error(err)
			}
		}
	}
	if out := p.Send(t.Context(), paper(100)); out.End != Printed || !heard {
		t.Errorf("%s; said %q", out, said.list())
	}
}

func realFails(t *testing.T) {
	d := printertest.NewDevice(t, `cp "$1" got; exit 1`)
	p, _ := at(t, d.URL("ipp"), Options{After: soon})
	out := p.Send(t.Context(), paper(100))
	if out.End != Aborted || !errors.Is(out.Err(), ErrNotPrinted) || out.Job == 0 {
		t.Errorf("%s", out)
	}
	if !printertest.Exists(d.File("got"))() {
		t.Error("the device never had it")
	}
}

func realKilledWhilePrinting(t *testing.T) {
	d := printertest.NewDevice(t, `mkfifo never; echo > begun; read x < never`)
	p, said := at(t, d.URL("ipp"), Options{Patience: 20 * time.Second, After: soon})
	killed := false
	p.options.Say = func(n News) {
		said.say(n)
		if n.State == Processing && !killed {
			killed = true
			printertest.Until(t, "the device", printertest.Exists(d.File("begun")))
			d.Kill()
		}
	}
	out := p.Send(t.Context(), paper(100))
	if out.End != Unknown || !errors.Is(out.Err(), ErrUnknown) || out.Job == 0 || !killed {
		t.Errorf("%s; said %q", out, said.list())
	}
}

// killer is a document whose printer dies half way through.
type killer struct {
	io.Reader
	left int
	kill func()
}

func (k *killer) Read(b []byte) (int, error) {
	n, err := k.Reader.Read(b)
	if k.left -= n; k.left < 0 && k.kill != nil {
		k.kill()
		k.kill = nil
	}
	return n, err
}

func (k *killer) Close() error { return nil }

func realKilledWhileSending(t *testing.T) {
	d := printertest.NewDevice(t, `cp "$1" got`)
	p, _ := at(t, d.URL("ipp"), Options{After: soon})
	doc := paper(2 * large)
	whole := contents(t, doc)
	doc.Open = func() (io.ReadCloser, error) {
		return &killer{Reader: bytes.NewReader(whole), left: large, kill: d.Kill}, nil
	}
	out := p.Send(t.Context(), doc)
	if out.End != Unknown || !errors.Is(out.Err(), ErrUnknown) {
		t.Errorf("%s", out)
	}
	if _, err := os.Stat(d.File("got")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the device has it: %v", err)
	}
}

func realCancelled(t *testing.T) {
	d := printertest.NewDevice(t, `mkfifo never; echo > begun; read x < never`)
	p, _ := at(t, d.URL("ipp"), Options{Patience: time.Second, After: soon})
	out := p.Send(t.Context(), paper(100))
	if out.End == Printed || !errors.Is(out.Err(), ErrPatience) {
		t.Errorf("%s", out)
	}
	t.Logf("it says: %s", out)
}

func realFormat(t *testing.T) {
	d := printertest.NewDevice(t, `cp "$1" got`, "-f", "image/jpeg,image/pwg-raster")
	p, _ := at(t, d.URL("ipp"), Options{After: soon})
	out := p.Send(t.Context(), paper(100))
	if out.End != Refused || !errors.Is(out.Err(), ErrFormat) || !strings.Contains(out.String(), "image/jpeg") {
		t.Errorf("%s", out)
	}
}

// realTLS speaks ipps with a printer whose certificate an authority of our own
// has signed.
func realTLS(t *testing.T) {
	keys := t.TempDir()
	pool := makeCertificate(t, keys)
	d := printertest.NewDevice(t, `cp "$1" got`, "-K", keys)
	p, _ := at(t, d.URL("ipps"), Options{Authorities: pool, After: soon})
	if out := p.Send(t.Context(), paper(100)); out.End != Printed {
		t.Errorf("%s", out)
	}
	p, _ = at(t, d.URL("ipps"), Options{After: soon})
	if out := p.Send(t.Context(), paper(100)); out.End != Refused || !errors.Is(out.Err(), ErrCertificate) {
		t.Errorf("%s", out)
	}
}

// makeCertificate writes localhost.crt and localhost.key, and returns who
// vouches for them.
func makeCertificate(t *testing.T, dir string) *x509.CertPool {
	t.Helper()
	newKey := func() *ecdsa.PrivateKey {
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		return key
	}
	made := func(cert, parent *x509.Certificate, key, by *ecdsa.PrivateKey) *x509.Certificate {
		cert.NotBefore, cert.NotAfter = time.Now().Add(-time.Hour), time.Now().Add(24*time.Hour)
		der, err := x509.CreateCertificate(rand.Reader, cert, parent, &key.PublicKey, by)
		if err != nil {
			t.Fatal(err)
		}
		got, err := x509.ParseCertificate(der)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	authorityKey, key := newKey(), newKey()
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "Test authority"},
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign,
	}
	authority := made(template, template, authorityKey, authorityKey)
	leaf := made(&x509.Certificate{
		SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: "localhost"}, DNSNames: []string{"localhost"},
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}, authority, key, authorityKey)
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	for name, block := range map[string]*pem.Block{
		"localhost.crt": {Type: "CERTIFICATE", Bytes: leaf.Raw},
		"localhost.key": {Type: "PRIVATE KEY", Bytes: der},
	} {
		if err := os.WriteFile(filepath.Join(dir, name), pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(fmt.Errorf("write %s: %w", name, err))
		}
	}
	pool := x509.NewCertPool()
	pool.AddCert(authority)
	return pool
}

package ipp

import "fmt"

// A Status is how a request went.
type Status uint16

// Answers that something is done about (RFC 8011 appendix B; from memory, not
// seen).
const (
	NotPossible          Status = 0x0404
	NotFound             Status = 0x0406
	Gone                 Status = 0x0407
	FormatNotSupported   Status = 0x040A
	NotSupported         Status = 0x0501 // the operation
	ServiceUnavailable   Status = 0x0502
	VersionNotSupported  Status = 0x0503
	DeviceError          Status = 0x0504
	NotAcceptingJobs     Status = 0x0506
	Busy                 Status = 0x0507
	CancelledMeanwhile   Status = 0x0508
	TooManyJobs          Status = 0x050B
	firstClientError     Status = 0x0400
	firstServerError     Status = 0x0500
	afterLastServerError Status = 0x0600
	lastSuccess          Status = 0x00FF
)

// Ok reports whether the request was done (0000 to 00FF; RFC 8011, from memory,
// not seen).
func (s Status) Ok() bool { return s <= lastSuccess }

// Busy reports whether the printer says that it cannot now and has not begun:
// the same request may be made again.
func (s Status) Busy() bool {
	return s == Busy || s == ServiceUnavailable || s == TooManyJobs
}

// Declined reports whether the fault lies in the request, so that nothing came
// of it.
func (s Status) Declined() bool { return s >= firstClientError && s < firstServerError }

// words say what a status means, in a printer's stead.
var words = map[Status]string{
	0x0400:              "it does not understand the request",
	0x0401:              "it does not permit this",
	0x0402:              "it wants to know who asks",
	0x0403:              "this user may not do this",
	NotPossible:         "that is not possible now",
	0x0405:              "the request took too long",
	NotFound:            "it knows no such printer or job",
	Gone:                "the printer or job is gone",
	0x0408:              "the document is too large",
	FormatNotSupported:  "it does not take this kind of document",
	0x040B:              "it does not support what is asked of the job",
	0x0411:              "the document has a fault",
	0x0500:              "it has a fault inside",
	NotSupported:        "it does not know this operation",
	ServiceUnavailable:  "it is not available now",
	VersionNotSupported: "it does not speak this version of IPP",
	DeviceError:         "the device has a fault",
	0x0505:              "it has a fault that passes",
	NotAcceptingJobs:    "it accepts no jobs",
	Busy:                "it is busy",
	CancelledMeanwhile:  "the job was cancelled while it was sent",
	TooManyJobs:         "it has too many jobs",
}

// String says what the status means, and its code.
func (s Status) String() string {
	w := words[s]
	switch {
	case w != "":
	case s.Ok():
		w = "done"
	case s.Declined():
		w = "it declines the request"
	case s >= firstServerError && s < afterLastServerError:
		w = "it has a fault"
	default:
		w = "an answer of no known meaning"
	}
	return fmt.Sprintf("%s (IPP status %04x)", w, uint16(s))
}

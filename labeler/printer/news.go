package printer

import (
	"fmt"
	"slices"
	"strings"
)

// State is where a job stands: a closed list.
type State uint8

// The states that are told.
const (
	Busy       State = iota + 1 // the printer takes no job at the moment
	Sending                     // the document is on its way
	Pending                     // it waits its turn
	Held                        // somebody has to release it
	Processing                  // it is being printed
	Stopped                     // the printer stands still
	Silent                      // the printer gives no answer
	Cancelling                  // it was asked to cancel the job
)

var stateWords = [...]string{
	Busy:       "the printer is busy",
	Sending:    "the document is being sent",
	Pending:    "the job waits its turn",
	Held:       "the job is held at the printer",
	Processing: "the job is being printed",
	Stopped:    "the printer has stopped",
	Silent:     "the printer gives no answer",
	Cancelling: "the job is being cancelled",
}

// News is a change in where a job stands.
type News struct {
	Job     int32 // 0 as long as it has no number
	State   State
	Reasons []string // in words
}

// String is the news in one line.
func (n News) String() string {
	what := "the printer says nothing"
	if n.State > 0 && int(n.State) < len(stateWords) {
		what = stateWords[n.State]
	}
	if n.Job != 0 {
		what = fmt.Sprintf("job %d: %s", n.Job, what)
	}
	if len(n.Reasons) > 0 {
		what += ": " + strings.Join(n.Reasons, ", ")
	}
	return what
}

func (n News) equal(o News) bool {
	return n.Job == o.Job && n.State == o.State && slices.Equal(n.Reasons, o.Reasons)
}

// reasonWords say what a printer's and a job's reasons mean; an empty text is
// what the state says already (RFC 8011, printer-state-reasons and
// job-state-reasons; from memory, not seen).
var reasonWords = map[string]string{
	"none":                             "",
	"media-needed":                     "media has to be loaded",
	"media-jam":                        "media is jammed",
	"media-low":                        "there is little media left",
	"media-empty":                      "there is no media",
	"moving-to-paused":                 "it is being paused",
	"paused":                           "it is paused",
	"shutdown":                         "it is switched off",
	"connecting-to-device":             "it is connecting to the device",
	"timed-out":                        "the device does not answer",
	"stopping":                         "it is stopping",
	"stopped-partly":                   "a part of it has stopped",
	"toner-low":                        "there is little toner left",
	"toner-empty":                      "there is no toner",
	"marker-supply-low":                "there is little ink, toner or ribbon left",
	"marker-supply-empty":              "there is no ink, toner or ribbon",
	"marker-waste-almost-full":         "the waste box is almost full",
	"marker-waste-full":                "the waste box is full",
	"spool-area-full":                  "its memory is full",
	"cover-open":                       "the cover is open",
	"door-open":                        "a door is open",
	"interlock-open":                   "a safety switch is open",
	"input-tray-missing":               "the input tray is missing",
	"output-tray-missing":              "the output tray is missing",
	"output-area-almost-full":          "the output is almost full",
	"output-area-full":                 "the output is full",
	"job-incoming":                     "",
	"job-queued":                       "",
	"job-interpreting":                 "",
	"job-transforming":                 "",
	"job-printing":                     "",
	"job-outgoing":                     "",
	"job-completed-successfully":       "",
	"processing-to-stop-point":         "it goes on to where it can stop",
	"printer-stopped":                  "the printer has stopped",
	"printer-stopped-partly":           "a part of the printer has stopped",
	"resources-are-not-ready":          "what the job needs is not loaded",
	"job-hold-until-specified":         "it is held until a set time",
	"job-data-insufficient":            "the rest of the document is missing",
	"submission-interrupted":           "the document did not arrive whole",
	"document-access-error":            "the document cannot be fetched",
	"document-format-error":            "the document has a fault",
	"unsupported-document-format":      "it does not take this kind of document",
	"unsupported-compression":          "it does not take this compression",
	"compression-error":                "the compression has a fault",
	"job-canceled-by-user":             "cancelled by its user",
	"job-canceled-by-operator":         "cancelled by an operator",
	"job-canceled-at-device":           "cancelled at the printer",
	"aborted-by-system":                "broken off by the printer",
	"service-off-line":                 "the printer is off line",
	"job-completed-with-warnings":      "there were warnings",
	reasonErrors:                       "there were errors",
	reasonQueued:                       "it lies with a device that does not say more",
	"other":                            "for another reason",
	"interpreter-resource-unavailable": "it lacks what it needs to read the document",
}

// Reasons of a finished job that is not known to be printed (RFC 8011,
// job-state-reasons; from memory, not seen): a spooler that cannot ask the device
// calls a job finished once the device has it.
const (
	reasonErrors = "job-completed-with-errors"
	reasonQueued = "queued-in-device"
)

// inWords are the reasons that somebody should hear, each once. One without a
// text of ours is given as the printer spells it.
func inWords(keywords []string) []string {
	var list []string
	for _, k := range keywords {
		k = strings.ToLower(k)
		if strings.HasSuffix(k, "-report") {
			continue // nothing that needs anybody (RFC 8011; from memory, not seen)
		}
		w, ok := reasonWords[k]
		if !ok { // how bad it is stands behind the reason
			k = strings.TrimSuffix(strings.TrimSuffix(k, "-warning"), "-error")
			w, ok = reasonWords[k]
		}
		if !ok {
			w = plain(k)
		}
		if w != "" && !slices.Contains(list, w) && len(list) < mostReasons {
			list = append(list, w)
		}
	}
	return list
}

// mostReasons are told at once.
const mostReasons = 8

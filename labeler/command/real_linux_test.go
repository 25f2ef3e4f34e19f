package command_test

import (
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"cribgate/labeler/printer/printertest"
)

// TestRealPrinter prints tags to a printer program that is not ours.
func TestRealPrinter(t *testing.T) {
	printertest.Alone(t, []printertest.Case{{Name: "Scripts", Run: func(t *testing.T) {
		testscript.Run(t, testscript.Params{
			Dir:                 "testdata/real",
			RequireExplicitExec: true,
			Cmds: map[string]func(*testscript.TestScript, bool, []string){
				"status": status,
				"crib":   crib,
				"tags":   tags,
				// device SCRIPT starts a printer whose mechanics are that shell
				// script, and sets PRINTER to its URL and DEVICE to its folder.
				"device": func(ts *testscript.TestScript, neg bool, args []string) {
					if neg || len(args) != 1 {
						ts.Fatalf("usage: device script")
					}
					d := printertest.NewDevice(t, args[0])
					ts.Setenv("PRINTER", d.URL("ipp"))
					ts.Setenv("DEVICE", d.File("."))
				},
			},
		})
	}}})
}

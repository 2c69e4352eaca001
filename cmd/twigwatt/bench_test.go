package main

import (
	"bytes"
	"context"
	"io"
	"testing"
)

// The studies as a user calls them, on the cabin in hourly steps.

func benchmarkCommand(b *testing.B, args ...string) {
	for b.Loop() {
		var stderr bytes.Buffer
		if code := run(context.Background(), append(args, "--set", "step_minutes=60"), io.Discard, &stderr); code != exitDone {
			b.Fatalf("exit %d: %s", code, stderr.String())
		}
	}
}

func BenchmarkHours(b *testing.B) { benchmarkCommand(b, "hours") }

func BenchmarkBank(b *testing.B) { benchmarkCommand(b, "bank", "--kwh", "8,10,12,14,16,18,20,24") }

func BenchmarkRisk(b *testing.B) { benchmarkCommand(b, "risk", "--years", "1000") }

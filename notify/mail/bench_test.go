package mail

import (
	"testing"

	"ventdue/notify/mail/smtptest"
)

func BenchmarkCompose(b *testing.B) {
	l := reminder()
	for b.Loop() {
		if _, err := Compose(l); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSend is the floor of what sending costs: frozen bytes over one connection to a server in the same
// process that keeps them in memory.
func BenchmarkSend(b *testing.B) {
	s := smtptest.Start(b, smtptest.Options{})
	j := job(b, 1)
	b.SetBytes(int64(len(j.Raw)))
	deliver(b, s, func() Job { return j })
}

// BenchmarkComposeAndSend adds making each letter.
func BenchmarkComposeAndSend(b *testing.B) {
	s := smtptest.Start(b, smtptest.Options{})
	deliver(b, s, func() Job { return job(b, 1) })
}

func deliver(b *testing.B, s *smtptest.Server, make func() Job) {
	left := b.N
	next := func() (*Job, error) {
		if left == 0 {
			return nil, nil
		}
		left--
		j := make()
		return &j, nil
	}
	b.ResetTimer()
	tally, err := Deliver(b.Context(), plain(s), next, func(Job, Outcome) error { return nil })
	if err != nil || tally.Accepted != b.N {
		b.Fatalf("%+v, %v", tally, err)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "msg/s")
}

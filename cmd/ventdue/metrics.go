package main

import (
	"crypto/subtle"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"

	"ventdue/store"
	"ventdue/vent"
)

// metrics gives what a monitoring program can watch. Figures are read when they are asked for.
func (d *theDaemon) metrics() *prometheus.Registry {
	r := prometheus.NewRegistry()
	r.MustRegister(collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}), &figures{d})
	return r
}

// figures is read at each request, from one snapshot.
type figures struct{ d *theDaemon }

var (
	descInfo     = prometheus.NewDesc("ventdue_build_info", "Which version runs; always 1.", []string{"version"}, nil)
	descOpen     = prometheus.NewDesc("ventdue_dues_open", "Open dues, by whether their day has passed at the office.", []string{"state"}, nil)
	descMessages = prometheus.NewDesc("ventdue_messages_waiting", "Messages that wait to be handed over.", nil, nil)
	descOldest   = prometheus.NewDesc("ventdue_message_oldest_wait_seconds", "How long the oldest waiting message is past its moment.", nil, nil)
	descTried    = prometheus.NewDesc("ventdue_mails_today", "Mails tried today at the office, those that no limit holds back not counted.", nil, nil)
	descHeld     = prometheus.NewDesc("ventdue_mails_held_today", "Mails held back today because a limit of mails a day was reached.", nil, nil)
	descSuccess  = prometheus.NewDesc("ventdue_job_last_success_timestamp_seconds", "When a job last ended well.", []string{"job"}, nil)
	descFailures = prometheus.NewDesc("ventdue_job_failures", "How often a job failed in a row.", []string{"job"}, nil)
	descDoubted  = prometheus.NewDesc("ventdue_clock_doubted", "1 while the machine's clock is doubted and nothing is sent.", nil, nil)
)

func (f *figures) Describe(ch chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{descInfo, descOpen, descMessages, descOldest, descTried, descHeld, descSuccess, descFailures, descDoubted} {
		ch <- d
	}
}

func (f *figures) Collect(ch chan<- prometheus.Metric) {
	gauge := func(d *prometheus.Desc, v float64, labels ...string) {
		ch <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, v, labels...)
	}
	gauge(descInfo, 1, version())
	status := f.d.clock.Status()
	for _, j := range status.Jobs {
		if !j.LastSuccess.IsZero() {
			gauge(descSuccess, float64(j.LastSuccess.Unix()), j.Name)
		}
		gauge(descFailures, float64(j.Failures), j.Name)
	}
	doubted := 0.0
	if status.Suspicion.Suspicious() {
		doubted = 1
	}
	gauge(descDoubted, doubted)
	if tried, held, err := f.d.house.desk.MailToday(f.d.now()); err == nil {
		gauge(descTried, float64(tried))
		gauge(descHeld, float64(held))
	}
	err := f.d.house.store.View(func(tx *store.Tx) error { return f.stored(tx, gauge) })
	if err != nil {
		ch <- prometheus.NewInvalidMetric(descOpen, err)
	}
}

func (f *figures) stored(tx *store.Tx, gauge func(*prometheus.Desc, float64, ...string)) error {
	zone := time.UTC
	if o, err := store.Operator(tx); err == nil {
		if z, err := time.LoadLocation(o.Zone); err == nil {
			zone = z
		}
	}
	today := vent.DateOf(f.d.now().In(zone))
	late, err := store.CountOpenDues(tx, 0, today)
	if err != nil {
		return err
	}
	ahead, err := store.CountOpenDues(tx, today, 0)
	if err != nil {
		return err
	}
	gauge(descOpen, float64(late), "overdue")
	gauge(descOpen, float64(ahead), "ahead")
	waiting, err := store.CountMessagesWaiting(tx)
	if err != nil {
		return err
	}
	oldest, err := oldestMessage(tx)
	if err != nil {
		return err
	}
	gauge(descMessages, float64(waiting))
	wait := 0.0
	if oldest != 0 {
		wait = max(0, f.d.now().Sub(oldest.Time()).Seconds())
	}
	gauge(descOldest, wait)
	return nil
}

// sameText compares secrets in a time that tells nothing of where they differ.
func sameText(a, b string) bool { return subtle.ConstantTimeCompare([]byte(a), []byte(b)) == 1 }

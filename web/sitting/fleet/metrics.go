//go:build fleet

package fleet

import (
	"context"
	"net/http"
	"strings"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"taillamp/block"
	"taillamp/web/sitting"
)

// Metrics are what a process counts of itself, for whoever watches over the machines. They name no sitting, no person
// and no key. The text is that of OpenMetrics 1.0, written by a library.
type Metrics struct {
	of       *prometheus.Registry
	facts    prometheus.Counter
	lost     prometheus.Counter
	appended prometheus.Histogram
	rings    prometheus.Histogram
	news     prometheus.Histogram
	tablets  prometheus.Gauge
}

// NewMetrics counts from nothing.
func NewMetrics() *Metrics {
	spans := []float64{.0005, .001, .002, .004, .008, .016, .032, .064, .25, 1, 4} // seconds
	m := &Metrics{
		of:    prometheus.NewRegistry(),
		facts: prometheus.NewCounter(prometheus.CounterOpts{Name: "taillamp_entries_total", Help: "Entries kept in records."}),
		lost:  prometheus.NewCounter(prometheus.CounterOpts{Name: "taillamp_appends_failed_total", Help: "Batches that could not be kept; each has closed a sitting here."}),
		appended: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "taillamp_append_seconds", Help: "From handing over a batch until it is safe.",
			Buckets: spans}),
		rings: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "taillamp_ring_seconds", Help: "From reading a beat's frame until it was handed to the socket of a tablet that sounds it.",
			Buckets: spans}),
		news: prometheus.NewHistogram(prometheus.HistogramOpts{Name: "taillamp_news_seconds", Help: "From reading the frame of an act until its news, safe on the disk, were handed to the socket of a tablet.",
			Buckets: spans}),
		tablets: prometheus.NewGauge(prometheus.GaugeOpts{Name: "taillamp_wires", Help: "Wires of tablets that are open at sittings of this process."}),
	}
	m.of.MustRegister(m.facts, m.lost, m.appended, m.rings, m.news, m.tablets,
		collectors.NewGoCollector(collectors.WithGoCollectorMemStatsMetricsDisabled()), // two of those have one family's name
		collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return m
}

// Of adds what a process of a fleet counts besides.
func (m *Metrics) Of(c *Control, f *Front) {
	gauge := func(name, help string, of func() float64) {
		m.of.MustRegister(prometheus.NewGaugeFunc(prometheus.GaugeOpts{Name: name, Help: help}, of))
	}
	counter := func(name, help string, of func() float64) {
		m.of.MustRegister(prometheus.NewCounterFunc(prometheus.CounterOpts{Name: name, Help: help}, of))
	}
	gauge("taillamp_sittings", "Sittings that this process works.", func() float64 { return float64(len(c.Held())) })
	counter("taillamp_sittings_taken_total", "Sittings that this process has taken or begun.", func() float64 { return float64(c.Taken()) })
	gauge("taillamp_sittings_under_way", "Sittings under way in the whole fleet.", func() float64 { return float64(len(c.Directory.Evenings())) })
	gauge("taillamp_processes", "Living processes of the fleet.", func() float64 { return float64(len(c.Directory.Living())) })
	gauge("taillamp_carrying", "Requests that another process is answering, open wires included.", func() float64 { now, _ := f.Carried(); return float64(now) })
	counter("taillamp_carried_total", "Requests that another process has answered.", func() float64 { _, since := f.Carried(); return float64(since) })
	gauge("taillamp_ready", "1 where this process may be given tablets.", func() float64 {
		if c.Ready() == nil {
			return 1
		}
		return 0
	})
}

// ServeHTTP gives the figures as they stand.
func (m *Metrics) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	promhttp.HandlerFor(m.of, promhttp.HandlerOpts{EnableOpenMetrics: true}).ServeHTTP(w, r)
}

// Pages counts the wires that a sitting's pages have open.
func (m *Metrics) Pages(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if strings.HasSuffix(r.URL.Path, "/wire") {
			m.tablets.Inc()
			defer m.tablets.Dec()
		}
		next.ServeHTTP(w, r)
	})
}

// Carried counts how long a ring or a fact was in the program; see web.Config.
func (m *Metrics) Carried(ring bool, took time.Duration) {
	if ring {
		m.rings.Observe(took.Seconds())
		return
	}
	m.news.Observe(took.Seconds())
}

// Keeper measures what a Keeper takes for its appends.
func (m *Metrics) Keeper(k sitting.Keeper) sitting.Keeper { return measured{k, m} }

type measured struct {
	sitting.Keeper
	m *Metrics
}

func (k measured) Begin(ctx context.Context, name string, h block.Header) (sitting.Record, error) {
	r, err := k.Keeper.Begin(ctx, name, h)
	if err != nil {
		return nil, err
	}
	return measuredRecord{r, k.m}, nil
}

func (k measured) Resume(ctx context.Context, name string) (sitting.Record, error) {
	r, err := k.Keeper.Resume(ctx, name)
	if err != nil {
		return nil, err
	}
	return measuredRecord{r, k.m}, nil
}

type measuredRecord struct {
	sitting.Record
	m *Metrics
}

func (r measuredRecord) Append(ctx context.Context, entries ...block.Entry) error {
	began := time.Now()
	err := r.Record.Append(ctx, entries...)
	r.m.appended.Observe(time.Since(began).Seconds())
	if err != nil {
		r.m.lost.Inc()
		return err
	}
	r.m.facts.Add(float64(len(entries)))
	return nil
}

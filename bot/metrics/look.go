package metrics

import (
	"context"
	"time"

	"github.com/prometheus/client_golang/prometheus"
)

// A State is what is looked up whenever somebody asks for the metrics: it is the
// same whichever process is asked, but for the socket.
type State struct {
	RedisUp       bool           // it takes a write
	SocketUp      *bool          // nil over HTTP
	Kickoffs      map[string]int // open ones, by stage
	Jobs          map[string]int // waiting ones, by why they wait
	OldestOverdue time.Duration  // of the jobs whose time has come
}

// lookTime is how long a look may take: who collects metrics mostly waits ten
// seconds.
const lookTime = 5 * time.Second

// Look registers what look finds with r, as gauges. Where it cannot look, it
// says what it knows and the error: then only that Redis is down is shown.
func Look(r prometheus.Registerer, look func(context.Context) (State, error)) {
	prometheus.WrapRegistererWithPrefix("soundings_", r).MustRegister(looker(look))
}

type looker func(context.Context) (State, error)

var (
	redisUp  = prometheus.NewDesc("redis_writable", "Whether Redis takes writes.", nil, nil)
	socketUp = prometheus.NewDesc("socket_connected", "Whether the socket of this process is connected.", nil, nil)
	open     = prometheus.NewDesc("kickoffs_open", "Open kickoffs, by stage.", []string{"stage"}, nil)
	jobs     = prometheus.NewDesc("jobs_queued", "Jobs that wait, by what for.", []string{"state"}, nil)
	overdue  = prometheus.NewDesc("jobs_overdue_seconds", "How long the oldest job has waited since its time had come.", nil, nil)
)

// Describe is for prometheus.Collector.
func (looker) Describe(to chan<- *prometheus.Desc) {
	for _, d := range []*prometheus.Desc{redisUp, socketUp, open, jobs, overdue} {
		to <- d
	}
}

// Collect is for prometheus.Collector.
func (look looker) Collect(to chan<- prometheus.Metric) {
	ctx, cancel := context.WithTimeout(context.Background(), lookTime)
	defer cancel()
	gauge := func(d *prometheus.Desc, value float64, labels ...string) {
		to <- prometheus.MustNewConstMetric(d, prometheus.GaugeValue, value, labels...)
	}
	s, err := look(ctx)
	gauge(redisUp, oneIf(s.RedisUp))
	if s.SocketUp != nil {
		gauge(socketUp, oneIf(*s.SocketUp))
	}
	if err != nil {
		return
	}
	for stage, n := range s.Kickoffs {
		gauge(open, float64(n), stage)
	}
	for state, n := range s.Jobs {
		gauge(jobs, float64(n), state)
	}
	gauge(overdue, s.OldestOverdue.Seconds())
}

func oneIf(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

package office

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/prometheus/client_golang/prometheus"
	"github.com/prometheus/client_golang/prometheus/collectors"
	"github.com/prometheus/client_golang/prometheus/promhttp"

	"lapwing/coverage/book"
)

var countRoutes = []Route{
	{"GET /health", Anyone, (*Office).health},
	{"GET /metrics", Managers, (*Office).metrics},
}

// counts are what is counted, by route and status: no name, no path and no secret.
type counts struct {
	registry *prometheus.Registry
	requests *prometheus.CounterVec
	took     *prometheus.HistogramVec
	refused  prometheus.Counter
}

func newCounts() *counts {
	c := &counts{
		registry: prometheus.NewRegistry(),
		requests: prometheus.NewCounterVec(prometheus.CounterOpts{Name: "lapwing_requests_total", Help: "Requests, by route and status."}, []string{"route", "status"}),
		took: prometheus.NewHistogramVec(prometheus.HistogramOpts{Name: "lapwing_request_seconds", Help: "How long answers took, by route.",
			Buckets: []float64{.005, .02, .05, .1, .2, .5, 1, 2, 5, 20, 60}}, []string{"route"}),
		refused: prometheus.NewCounter(prometheus.CounterOpts{Name: "lapwing_sign_in_refused_total", Help: "Tries to sign in that were refused."}),
	}
	c.registry.MustRegister(c.requests, c.took, c.refused, collectors.NewGoCollector(), collectors.NewProcessCollector(collectors.ProcessCollectorOpts{}))
	return c
}

func (c *counts) request(route, method string, status int, took time.Duration) {
	if route == "none" {
		route = method + " none"
		if method != http.MethodGet && method != http.MethodPost {
			route = "none" // methods that anybody makes up are no labels
		}
	}
	c.requests.WithLabelValues(route, fmt.Sprint(status)).Inc()
	c.took.WithLabelValues(route).Observe(took.Seconds())
}

// metrics is for who manages the whole book: it tells how busy all farms are.
func (o *Office) metrics(w http.ResponseWriter, r *http.Request) error {
	if err := o.manages(r, book.WholeBook); err != nil {
		return err
	}
	promhttp.HandlerFor(o.counts.registry, promhttp.HandlerOpts{}).ServeHTTP(w, r)
	return nil
}

// manages returns an error unless the person who asks manages a farm.
func (o *Office) manages(r *http.Request, farm int64) error {
	farms, err := o.Book.Farms(r.Context())
	if err != nil {
		return err
	}
	for _, f := range farms {
		if f.ID == farm && f.May == book.MayManage {
			return nil
		}
	}
	return book.ErrNotFound
}

// health says whether the book answers.
func (o *Office) health(w http.ResponseWriter, r *http.Request) error {
	if _, err := o.Book.PersonOf(r.Context(), 0); err != nil && !errors.Is(err, book.ErrNotFound) {
		o.Log.Error("the book does not answer", "error", err.Error())
		return &said{http.StatusServiceUnavailable, "The book does not answer."}
	}
	_, err := fmt.Fprintln(w, "well")
	return err
}

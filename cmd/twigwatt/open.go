package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os/exec"
	"runtime"
	"time"

	"github.com/urfave/cli/v2"
)

func openCommand() *cli.Command {
	return &cli.Command{Name: "open", Usage: "the household's own page, in the browser, on this machine alone",
		ArgsUsage: "[SCENARIO]", Action: open, Flags: []cli.Flag{
			&cli.StringFlag{Name: "diary", Usage: "`FILE` of runs that the page adds to and checks"},
			&cli.BoolFlag{Name: "no-browser", Usage: "print the address, and open no browser"},
			&cli.StringFlag{Name: "listen", Value: "127.0.0.1:0",
				Usage: "`ADDRESS` to serve at; off this machine an access key is asked for"}}}
}

// open serves the page until the program is ended.
func open(c *cli.Context) error {
	words, err := wordsOf(c, 1)
	if err != nil {
		return err
	}
	s := &server{diary: c.String("diary"), scenario: defaultScenario, heavy: make(chan struct{}, runtime.GOMAXPROCS(0))}
	if len(words) == 1 {
		s.scenario = words[0]
	}
	if _, err := readNamed(c, s.scenario); err != nil {
		return err
	}
	listener, err := net.Listen("tcp", c.String("listen"))
	if err != nil {
		return usagef("--listen %s: cannot be served at: %s", c.String("listen"), bare(err))
	}
	address := listener.Addr().(*net.TCPAddr)
	url := "http://" + address.String() + "/"
	if !address.IP.IsLoopback() {
		s.key = rand.Text()
		url += "?key=" + s.key
	}
	s.hosts = hostsOf(address)
	const patience = 10 * time.Second
	served := &http.Server{Handler: s.handler(), ReadHeaderTimeout: patience, ReadTimeout: patience, IdleTimeout: time.Minute,
		MaxHeaderBytes: 1 << 14, BaseContext: func(net.Listener) context.Context { return c.Context }}
	fmt.Fprintf(c.App.Writer, "%s is open at %s (end with Ctrl-C)\n", s.scenario, url)
	if !c.Bool("no-browser") {
		openBrowser(url)
	}
	ended := make(chan error, 1)
	go func() { ended <- served.Serve(listener) }()
	select {
	case err := <-ended:
		return fmt.Errorf("the page is not served any more: %w", err)
	case <-c.Context.Done():
	}
	const wait = 500 * time.Millisecond // for what is being written
	ending, stop := context.WithTimeout(context.Background(), wait)
	defer stop()
	if err := served.Shutdown(ending); errors.Is(err, context.DeadlineExceeded) {
		served.Close()
	}
	return c.Context.Err()
}

// hostsOf are what a request may call the server by.
func hostsOf(address *net.TCPAddr) []string {
	port := fmt.Sprint(address.Port)
	hosts := []string{net.JoinHostPort("127.0.0.1", port), net.JoinHostPort("localhost", port), net.JoinHostPort("::1", port), address.String()}
	if address.IP.IsUnspecified() { // every address of this machine
		if own, err := net.InterfaceAddrs(); err == nil {
			for _, a := range own {
				if ip, ok := a.(*net.IPNet); ok {
					hosts = append(hosts, net.JoinHostPort(ip.IP.String(), port))
				}
			}
		}
	}
	return hosts
}

// openBrowser asks the system to show a page; where it cannot, the address was printed.
func openBrowser(url string) {
	program := map[string][]string{"darwin": {"open"}, "windows": {"rundll32", "url.dll,FileProtocolHandler"}}[runtime.GOOS]
	if program == nil {
		program = []string{"xdg-open"}
	}
	if command := exec.Command(program[0], append(program[1:], url)...); command.Start() == nil {
		go command.Wait() // its end is nobody's concern
	}
}

package command

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"time"

	"github.com/spf13/cobra"

	"partwright/api"
)

func newHealthcheck() *cobra.Command {
	addr := api.DefaultConfig().Addr
	timeout := 3 * time.Second
	cmd := &cobra.Command{
		Use:   "healthcheck",
		Short: "Ask a running service on this machine whether it is alive",
		Long: `Healthcheck ends with status 0 if the service answers that it is alive, else
with 1. It is for containers that have no other program to ask with.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx, cancel := context.WithTimeout(cmd.Context(), timeout)
			defer cancel()
			return askHealth(ctx, addr)
		},
	}
	cmd.Flags().StringVar(&addr, "addr", addr, "where the service listens")
	cmd.Flags().DurationVar(&timeout, "timeout", timeout, "how long to wait for the answer")
	return cmd
}

func askHealth(ctx context.Context, addr string) error {
	host, port, err := net.SplitHostPort(addr)
	if err != nil {
		return fmt.Errorf("--addr %s: say host:port: %w", addr, err)
	}
	// A service that listens on every address is asked on this machine's own.
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "localhost"
	}
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://"+net.JoinHostPort(host, port)+"/healthz", nil)
	if err != nil {
		return err
	}
	// No proxy, whatever the environment says: this is the machine itself.
	client := http.Client{Transport: &http.Transport{}}
	answer, err := client.Do(request)
	if err != nil {
		return &status{exitUnreadable, err}
	}
	defer func() { _ = answer.Body.Close() }()
	_, _ = io.Copy(io.Discard, io.LimitReader(answer.Body, 1<<10))
	if answer.StatusCode != http.StatusOK {
		return &status{exitUnreadable, fmt.Errorf("the service answered %s", answer.Status)}
	}
	return nil
}

package command

import "github.com/spf13/pflag"

// WebhookConfig says where messages about batches may be sent.
type WebhookConfig struct {
	Allow   []string // blocks of addresses in one's own network
	Plain   bool     // http:// too
	Workers int
}

func addWebhooks(flags *pflag.FlagSet, f *WebhookConfig, b *BatchConfig) {
	flags.DurationVar(&b.KeepFor, "retention", 0, "how long a batch is kept after nothing has happened in it, unless its organization says otherwise; 0 for ever")
	flags.StringSliceVar(&f.Allow, "webhook-allow", nil, "blocks of addresses inside your own network to which webhooks may be sent, such as 10.1.0.0/16")
	flags.BoolVar(&f.Plain, "webhook-plain", false, "let the addresses of webhooks begin with http:// too")
	flags.IntVar(&f.Workers, "webhook-workers", 4, "messages sent to webhooks at once")
}

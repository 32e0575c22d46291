// Package deploy holds what operators get: manifests, dashboard, alerts and runbook. It
// has no code of its own; its tests hold these files to the service as it is.
package deploy

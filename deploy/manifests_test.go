package deploy_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
)

// runsIn is what matters here of a container in a pod.
type runsIn struct {
	ReadinessProbe, LivenessProbe map[string]any
	Resources                     struct{ Requests, Limits map[string]string }
	SecurityContext               struct {
		AllowPrivilegeEscalation *bool
		ReadOnlyRootFilesystem   bool
		Capabilities             struct{ Drop []string }
	}
}

type manifest struct {
	Kind string
	Spec struct {
		Template struct {
			Spec struct {
				TerminationGracePeriodSeconds int
				AutomountServiceAccountToken  *bool
				SecurityContext               struct{ RunAsNonRoot bool }
				Containers                    []runsIn
			}
		}
	}
}

func manifests(t *testing.T) map[string][]manifest {
	t.Helper()
	files, err := filepath.Glob("kubernetes/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("%d manifests, %v", len(files), err)
	}
	all := map[string][]manifest{}
	for _, file := range files {
		for document := range strings.SplitSeq(string(read(t, file)), "\n---\n") {
			var m manifest
			text, err := yaml.YAMLToJSON([]byte(document))
			if err == nil {
				err = json.Unmarshal(text, &m)
			}
			if err != nil {
				t.Fatalf("%s: %v", file, err)
			}
			all[m.Kind] = append(all[m.Kind], m)
		}
	}
	return all
}

func TestPodsAreShutIn(t *testing.T) {
	all := manifests(t)
	for _, kind := range []string{"Deployment", "PodDisruptionBudget", "HorizontalPodAutoscaler", "NetworkPolicy", "Service", "Namespace"} {
		if len(all[kind]) == 0 {
			t.Errorf("there is no %s", kind)
		}
	}
	for _, d := range all["Deployment"] {
		pod := d.Spec.Template.Spec
		if !pod.SecurityContext.RunAsNonRoot || pod.AutomountServiceAccountToken == nil || *pod.AutomountServiceAccountToken {
			t.Error("a pod may run as root, or holds a token of the cluster")
		}
		if len(pod.Containers) == 0 {
			t.Error("a pod without a container")
		}
		// The defaults of the service are 45 s for running work; the manifest adds 10.
		if pod.TerminationGracePeriodSeconds < 55 {
			t.Errorf("a pod is killed after %d s, before it has drained", pod.TerminationGracePeriodSeconds)
		}
		for _, c := range pod.Containers {
			s := c.SecurityContext
			if !s.ReadOnlyRootFilesystem || s.AllowPrivilegeEscalation == nil || *s.AllowPrivilegeEscalation ||
				len(s.Capabilities.Drop) != 1 || s.Capabilities.Drop[0] != "ALL" {
				t.Errorf("a container may more than it needs: %+v", s)
			}
			if c.ReadinessProbe == nil || c.LivenessProbe == nil || c.Resources.Limits["memory"] == "" || c.Resources.Requests["cpu"] == "" {
				t.Error("a container lacks a probe or a bound")
			}
		}
	}
}

// systemd-analyze rates what a unit may do, from 0 (nothing) to 10.
func TestUnitIsShutIn(t *testing.T) {
	unit := strings.ReplaceAll(string(read(t, "systemd/partwright.service")), "/usr/local/bin/partwright", "/bin/true")
	file := filepath.Join(t.TempDir(), "partwright.service")
	if err := os.WriteFile(file, []byte(unit), 0o600); err != nil {
		t.Fatal(err)
	}
	accepts(t, "systemd-analyze", "verify", file)
	accepts(t, "systemd-analyze", "security", "--offline=yes", "--threshold=15", file)
}

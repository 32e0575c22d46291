# The usual targets. Everything works with Go alone except where it says so.
OUT ?= partwright
VERSION ?= $(shell git describe --tags --always --dirty 2>/dev/null)
FUZZTIME ?= 1m
# Without the codec of a format that nobody here speaks: 6 MB less. Everything works
# without the tag, too.
TAGS = nomsgpack
TOOL = go tool -modfile=.ci/tools/go.mod

.PHONY: build release test lint ci bench fuzz golden generate demo module-path clean

build: ## a static binary
	CGO_ENABLED=0 go build -trimpath -tags $(TAGS) -ldflags "-s -w -X main.release=$(VERSION)" -o $(OUT) .

release: ## programs for the common systems in dist/, with checksums and what they are made of
	.ci/release "$(VERSION)" dist

test:
	go test ./...

ci: ## everything a change has to pass; installs Debian packages as root
	bash .ci/run

lint:
	gofmt -l .
	go vet ./...
	$(TOOL) staticcheck ./...

bench: ## every benchmark, with allocations
	go test -run '^$$' -bench . -benchmem ./...

fuzz: ## every fuzz target, one after the other, FUZZTIME each
	@set -e; for package in $$(go list ./...); do \
		for target in $$(go test -list '^Fuzz' $$package | grep '^Fuzz' || true); do \
			echo "$$package $$target"; \
			go test -run '^$$' -fuzz "^$$target\$$" -fuzztime $(FUZZTIME) $$package; \
		done; \
	done

golden: ## rewrite the expected outputs; read the difference before committing it
	go test $$(grep -rl --include='*_test.go' 'flag.Bool("update"' . | xargs -n1 dirname | sort -u) -update

generate:
	go generate ./...

demo: ## check the demo class and write the marked scores to out/
	go run . check --out out testdata/class

module-path: ## give the module another path: make module-path TO=...
	.ci/module-path "$(TO)"

clean:
	rm -rf partwright out dist

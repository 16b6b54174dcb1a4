# Ventdue. `make test` is all that a fresh machine needs.

GO      ?= go
VERSION ?=
STATIC   = CGO_ENABLED=0 $(GO) build -trimpath -ldflags "-s -w -X main.released=$(VERSION)"

.PHONY: test check tools race bench fleet torture lint build clean

# Installs or checks the outside programs, then runs every test.
test: tools check
	$(GO) test -timeout 20m ./...

tools:
	testdata/tools/install

# What takes seconds: format and vet.
check:
	@bad=$$(gofmt -l $$(git ls-files '*.go')); if [ -n "$$bad" ]; then echo "gofmt these files: $$bad"; exit 1; fi
	$(GO) vet ./...

race:
	$(GO) test -race -timeout 40m ./...

# Speed as ratios to a floor measured in the same run.
bench:
	$(GO) test -run '^$$' -bench . -benchtime 1s -timeout 60m ./...

# The lint model against simulated fleets: prints the table of scheduler/lint/README.md. RUNS=1200 asks for smaller fleets.
RUNS ?= full
fleet:
	VENTDUE_FLEET=$(RUNS) $(GO) test -run FullTable -count 1 -timeout 4h -v ./scheduler/lint/fleet

# Ten thousand notices through a mail server that does everything wrong, with the sender killed fifty times, and through
# a real one; prints what was lost and what came twice.
NOTICES ?= 10000
torture: tools
	VENTDUE_TORTURE=$(NOTICES) $(GO) test -run 'Torture|ThroughPostfix' -count 1 -timeout 30m -v ./notify

lint: check
	$(GO) tool staticcheck ./...

# One static binary, for any Linux of this architecture.
build:
	$(STATIC) -o bin/ventdue ./cmd/ventdue

clean:
	rm -rf bin .tools screenshots

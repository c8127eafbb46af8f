-- wrk's part of tests/bench/run: plain reads, with LEADSIDE_TOKEN when it is set.
local token = os.getenv("LEADSIDE_TOKEN")
if token and token ~= "" then wrk.headers["Authorization"] = "Bearer " .. token end

function done(summary, latency, requests)
  local failed = summary.errors.connect + summary.errors.read + summary.errors.write + summary.errors.status +
    summary.errors.timeout
  io.write(string.format("result %.1f %.3f %.3f %d\n", summary.requests / summary.duration * 1e6,
    latency:percentile(50) / 1000, latency:percentile(99) / 1000, failed))
end

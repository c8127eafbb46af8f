-- wrk's part of tests/bench/run: uploads one document again and again, each time under an Idempotency-Key of its own.
-- Environment: LEADSIDE_TOKEN, LEADSIDE_BODY (a file), LEADSIDE_PATHS (comma separated).
local token = os.getenv("LEADSIDE_TOKEN")
local file = assert(io.open(os.getenv("LEADSIDE_BODY"), "rb"))
local body = file:read("*a")
file:close()

local threads = 0
function setup(thread)
  thread:set("number", threads)
  threads = threads + 1
end

local count = 0
local heads = {}
function init()
  for path in string.gmatch(os.getenv("LEADSIDE_PATHS"), "[^,]+") do
    heads[#heads + 1] = "POST " .. path .. " HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " .. token ..
      "\r\nContent-Type: application/json\r\nContent-Length: " .. #body .. "\r\nIdempotency-Key: bench-" ..
      os.time() .. "-" .. number .. "-"
  end
end

function request()
  count = count + 1
  return heads[count % #heads + 1] .. count .. "\r\n\r\n" .. body
end

-- one line that the runner reads
function done(summary, latency, requests)
  local failed = summary.errors.connect + summary.errors.read + summary.errors.write + summary.errors.status +
    summary.errors.timeout
  io.write(string.format("result %.1f %.3f %.3f %d\n", summary.requests / summary.duration * 1e6,
    latency:percentile(50) / 1000, latency:percentile(99) / 1000, failed))
end

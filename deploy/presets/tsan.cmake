# ThreadSanitizer: the server and the race tests only (Criterion cannot start under it).
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(LEADSIDE_SANITIZE thread CACHE STRING "")

# ThreadSanitizer: the server and the race tests only (Criterion cannot start under it).
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(LEADSIDE_SANITIZE thread CACHE STRING "")
set(CMAKE_COMPILE_WARNING_AS_ERROR ON CACHE BOOL "")

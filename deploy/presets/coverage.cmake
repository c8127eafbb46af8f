# Counts executed lines; tests/run reads them with gcovr.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(LEADSIDE_COVERAGE ON CACHE BOOL "")
set(CMAKE_COMPILE_WARNING_AS_ERROR ON CACHE BOOL "")

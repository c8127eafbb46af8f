# Counts executed lines; tests/run reads them with gcovr.
set(CMAKE_BUILD_TYPE Debug CACHE STRING "")
set(LEADSIDE_COVERAGE ON CACHE BOOL "")

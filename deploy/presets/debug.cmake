# Every check on: AddressSanitizer (with leaks) and UndefinedBehaviorSanitizer, stopping at the first finding.
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(LEADSIDE_SANITIZE address-undefined CACHE STRING "")
set(CMAKE_COMPILE_WARNING_AS_ERROR ON CACHE BOOL "")

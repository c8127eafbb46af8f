# libFuzzer targets, clang only: the target "fuzz" builds all of them.
set(CMAKE_C_COMPILER clang CACHE STRING "")
set(CMAKE_BUILD_TYPE RelWithDebInfo CACHE STRING "")
set(LEADSIDE_SANITIZE address-undefined CACHE STRING "")
set(LEADSIDE_FUZZ ON CACHE BOOL "")
set(CMAKE_COMPILE_WARNING_AS_ERROR ON CACHE BOOL "")

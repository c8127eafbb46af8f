# The core as WebAssembly (server/module/module.h): leadside_module(out) makes joined/core.wasm below the build folder, of
# core/ and what wire/ needs to read a document and to write a report, and puts its name into <out>; "" where Debian's clang
# can't make such modules. The objects are compiled by custom commands: this compiler is not the program's.
set(module_flags --target=wasm32-wasi -std=c17 -O2 -msimd128 -ffunction-sections -fdata-sections -Wall -Wextra -Wpedantic
  -Wconversion -Wshadow -Wstrict-prototypes -Wmissing-prototypes -Werror=implicit-function-declaration -D_POSIX_C_SOURCE=200809L -D_DEFAULT_SOURCE)
if(CMAKE_COMPILE_WARNING_AS_ERROR)
  list(APPEND module_flags -Werror)
endif()
# A megabyte of stack below everything else, so that too deep a call stops instead of writing over data.
set(module_link_flags --target=wasm32-wasi -O2 -mexec-model=reactor -Wl,-z,stack-size=1048576 -Wl,--stack-first
  -Wl,--max-memory=402653184 -Wl,--gc-sections -Wl,--strip-all)
# With it printf has nothing to complain of, and so no need of a file to complain to: the module imports nothing.
set(module_libraries -lc-printscan-long-double)

# True when a reactor can be compiled and linked here.
function(module_possible out)
  find_program(LEADSIDE_WASM_CC NAMES clang clang-14 DOC "Debian's clang, which makes core.wasm")
  set(${out} FALSE PARENT_SCOPE)
  if(LEADSIDE_WASM_CC)
    set(probe ${CMAKE_BINARY_DIR}/module/probe)
    file(CONFIGURE OUTPUT ${probe}.c CONTENT "#include <math.h>\n#include <stdlib.h>\ndouble probe(double x);\n__attribute__((export_name(\"probe\"))) double probe(double x)\n{\n    return sin(x) + (malloc(1) == NULL);\n}\n" @ONLY)
    execute_process(COMMAND ${LEADSIDE_WASM_CC} ${module_flags} ${module_link_flags} ${probe}.c ${module_libraries} -o ${probe}.wasm
      RESULT_VARIABLE failed OUTPUT_QUIET ERROR_QUIET)
    if(failed EQUAL 0)
      set(${out} TRUE PARENT_SCOPE)
    endif()
  endif()
endfunction()

# module_objects(<out> <source>...): an object of each, built anew when what it includes changes.
function(module_objects out)
  set(objects "")
  set(includes ${CMAKE_BINARY_DIR}/module/include) # jansson's header alone: Debian's others are another machine's
  foreach(source IN LISTS ARGN)
    file(RELATIVE_PATH name ${CMAKE_SOURCE_DIR} ${source})
    string(REPLACE "/" "_" name ${name})
    set(object ${CMAKE_BINARY_DIR}/module/${name}.o)
    add_custom_command(OUTPUT ${object}
      COMMAND ${LEADSIDE_WASM_CC} ${module_flags} -I${CMAKE_SOURCE_DIR} -I${CMAKE_SOURCE_DIR}/server -I${includes} -I${CMAKE_SOURCE_DIR}/tests
        -MD -MF ${object}.d -c ${source} -o ${object}
      DEPENDS ${source} DEPFILE ${object}.d VERBATIM)
    list(APPEND objects ${object})
  endforeach()
  set(${out} ${objects} PARENT_SCOPE)
endfunction()

# module_link(<wasm> <objects> <flag>...)
function(module_link wasm objects)
  add_custom_command(OUTPUT ${wasm} COMMAND ${LEADSIDE_WASM_CC} ${module_link_flags} ${ARGN} ${objects} ${module_libraries}
    -o ${wasm} DEPENDS ${objects} VERBATIM)
endfunction()

function(leadside_module out)
  set(wasm ${CMAKE_BINARY_DIR}/joined/core.wasm)
  if(LEADSIDE_MODULE)
    add_custom_command(OUTPUT ${wasm} COMMAND ${CMAKE_COMMAND} -E copy ${LEADSIDE_MODULE} ${wasm} DEPENDS ${LEADSIDE_MODULE} VERBATIM)
    set(${out} ${wasm} PARENT_SCOPE)
    return()
  endif()
  module_possible(possible)
  set(${out} "" PARENT_SCOPE)
  if(NOT possible)
    message(STATUS "No core.wasm: reports will need the network. It takes Debian's clang lld wasi-libc libclang-rt-dev-wasm32.")
    return()
  endif()
  pkg_get_variable(jansson_include jansson includedir)
  file(COPY ${jansson_include}/jansson.h ${jansson_include}/jansson_config.h DESTINATION ${CMAKE_BINARY_DIR}/module/include)
  file(GLOB_RECURSE sources CONFIGURE_DEPENDS ${CMAKE_SOURCE_DIR}/core/*.c ${CMAKE_SOURCE_DIR}/server/module/*.c)
  set(wire json/error json/fields json/in json/out json/tree rules/drill_read rules/old_names rules/standard_read
    swing/motion swing/parts swing/read swing/views report/codes report/motion report/player report/write)
  foreach(unit IN LISTS wire)
    list(APPEND sources ${CMAKE_SOURCE_DIR}/server/wire/${unit}.c)
  endforeach()
  foreach(unit arena plain_text text times)
    list(APPEND sources ${CMAKE_SOURCE_DIR}/server/base/${unit}.c)
  endforeach()
  module_objects(objects ${sources})
  module_link(${wasm} "${objects}")
  set(${out} ${wasm} PARENT_SCOPE)
  set(module_objects_all ${objects} PARENT_SCOPE)
endfunction()

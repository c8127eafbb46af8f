# Makes statements.h (an enum) and statements.c (the texts) out of every .sql file of the store:
#   cmake -DOUT=folder "-DFILES=a.sql;b.sql" -P statements.cmake
# A statement begins with "-- name: ACCOUNT_BY_ID :one" (:one row at most, :many rows, :exec none), the file's name first,
# and may go on with "-- whole: why it may read a whole table". A piece that several share begins with
# "-- part: select_account" and is written {select_account}. Other comments stay here.
cmake_minimum_required(VERSION 3.25)

set(names "")
set(parts "")
foreach(file IN LISTS FILES)
  get_filename_component(unit ${file} NAME_WE)
  string(TOUPPER "${unit}_" prefix)
  file(READ ${file} rest)
  set(name "")
  while(NOT rest STREQUAL "")
    string(FIND "${rest}" "\n" end)
    if(end LESS 0)
      message(FATAL_ERROR "${file}: the last line has no end")
    endif()
    string(SUBSTRING "${rest}" 0 ${end} line)
    math(EXPR next "${end} + 1")
    string(SUBSTRING "${rest}" ${next} -1 rest)
    if(line MATCHES "^-- name: ([A-Z0-9_]+) :(one|many|exec)$")
      set(name ${CMAKE_MATCH_1})
      string(TOUPPER ${CMAKE_MATCH_2} kind_${name})
      string(FIND ${name} ${prefix} at)
      if(NOT at EQUAL 0 OR DEFINED text_${name})
        message(FATAL_ERROR "${file}: ${name} must begin with ${prefix} and be there once")
      endif()
      list(APPEND names ${name})
      set(text_${name} "")
    elseif(line MATCHES "^-- part: ([a-z_]+)$")
      set(name part_${CMAKE_MATCH_1})
      if(DEFINED text_${name})
        message(FATAL_ERROR "${file}: ${name} is there twice")
      endif()
      list(APPEND parts ${CMAKE_MATCH_1})
      set(text_${name} "")
    elseif(line MATCHES "^-- whole: (.+)$")
      set(whole_${name} "${CMAKE_MATCH_1}")
    elseif(line MATCHES "^-- (name|part|whole)")
      message(FATAL_ERROR "${file}: what is this? ${line}")
    elseif(NOT line MATCHES "^ *(--|$)")
      string(REGEX REPLACE "\;$" "" line "${line}")
      if(NOT "${text_${name}}" STREQUAL "")
        string(APPEND text_${name} "\n")
      endif()
      string(APPEND text_${name} "${line}")
    endif()
  endwhile()
endforeach()

set(enum "")
set(table "")
foreach(name IN LISTS names)
  set(text "${text_${name}}")
  while(text MATCHES "{([a-z_]+)}")
    if(NOT DEFINED text_part_${CMAKE_MATCH_1})
      message(FATAL_ERROR "${name}: there is no part ${CMAKE_MATCH_1}")
    endif()
    string(REPLACE "{${CMAKE_MATCH_1}}" "${text_part_${CMAKE_MATCH_1}}" text "${text}")
  endwhile()
  string(REPLACE "\\" "\\\\" text "${text}")
  string(REPLACE "\"" "\\\"" text "${text}")
  string(REPLACE "\n" "\\n\"\n     \"" text "${text}")
  set(whole NULL)
  if(DEFINED whole_${name})
    set(whole "\"${whole_${name}}\"")
  endif()
  string(APPEND enum "    ${name},\n")
  string(APPEND table "    {\"${name}\",\n     \"${text}\",\n     STATEMENT_${kind_${name}}, ${whole}},\n")
endforeach()

file(WRITE ${OUT}/statements.h.new "/* GENERATED from the .sql files of server/store; made by server/store/statements.cmake. */
#ifndef LEADSIDE_STORE_STATEMENTS_H
#define LEADSIDE_STORE_STATEMENTS_H

enum statement {
${enum}    STATEMENT_COUNT
};

enum statement_kind { STATEMENT_ONE, STATEMENT_MANY, STATEMENT_EXEC };

struct statement_text {
    const char *name, *sql;
    enum statement_kind kind;
    const char *whole; /* why it may read a whole table; NULL = it may not */
};

extern const struct statement_text store_statements[STATEMENT_COUNT];

#endif
")
file(WRITE ${OUT}/statements.c "/* GENERATED from the .sql files of server/store; made by server/store/statements.cmake. */
#include \"store/statements.h\"

#include <stddef.h>

const struct statement_text store_statements[STATEMENT_COUNT] = {
${table}};
")
# The header only when it is another one: an edited text builds one file anew.
file(COPY_FILE ${OUT}/statements.h.new ${OUT}/statements.h ONLY_IF_DIFFERENT)
file(REMOVE ${OUT}/statements.h.new)

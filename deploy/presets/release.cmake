# What is deployed.
set(CMAKE_BUILD_TYPE Release CACHE STRING "")

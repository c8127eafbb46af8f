"""A peer of tests/bench/peers/run: FastAPI on uvicorn, as Debian has them, over SQLite: POST keeps the body, one commit each,
and answers 201 when it is on disk; GET answers the first row. Neither rights nor a score. File: LEADSIDE_PEER_FILE."""
import os
import sqlite3
import threading

from fastapi import FastAPI, Request, Response

FILE = os.environ["LEADSIDE_PEER_FILE"]
app = FastAPI()
own = threading.local()


def database():
    if not hasattr(own, "database"):
        own.database = sqlite3.connect(FILE, timeout=30, isolation_level=None)
        own.database.execute("PRAGMA synchronous=FULL")
    return own.database


def keep(body):
    database().execute("INSERT INTO swing (id, document) VALUES (?, ?)", (os.urandom(16), body))


@app.post("/v1/students/{student}/swings", status_code=201)
async def upload(student: str, request: Request):
    keep(await request.body())
    return {"kept": True}


@app.get("/row")
async def row():
    return Response(database().execute("SELECT document FROM swing WHERE number = 1").fetchone()[0], media_type="application/json")

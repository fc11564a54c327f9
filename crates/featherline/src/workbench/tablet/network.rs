//! The listener in the local network, and its lines: all of them end when the tablet is switched off,
//! and none is held by a device that does not go on to enter the code.

use std::collections::BTreeMap;
use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use std::pin::Pin;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;

use axum::extract::connect_info::Connected;
use axum::serve::{IncomingStream, Listener};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::watch;
use tokio::time::{Instant, Sleep, sleep_until};

/// How long a line may be open before its device has shown that it is paired: enough to ask for the
/// page that pairs, or to send the code, over a poor network.
const UNKNOWN_FOR: Duration = Duration::from_secs(15);

/// How long nothing may move on the line of a paired device, so that those of a device that fell asleep
/// go. The lines of windows are pinged more often than that, and no answer takes as long.
const SILENT_FOR: Duration = Duration::from_secs(300);

/// How many lines one device may have; a browser opens six and one for each window.
const LINES_OF_ONE: usize = 32;

/// How many lines there may be: far from what would keep the program from opening its own files.
const LINES: usize = 128;

/// Resolves when the tablet is switched off.
pub(super) async fn switched_off(mut off: watch::Receiver<()>) {
    // Nothing is ever sent: the sender goes when it is switched off.
    while off.changed().await.is_ok() {}
}

/// The listener.
pub(super) struct Network {
    listener: TcpListener,
    off: watch::Receiver<()>,
    crowd: Crowd,
}

impl Network {
    /// Listens at every address of this machine: at `port` if it is free, or at another.
    pub(super) async fn at(port: u16, off: watch::Receiver<()>) -> io::Result<Self> {
        let every = |port| SocketAddr::from((Ipv4Addr::UNSPECIFIED, port));
        let listener = match TcpListener::bind(every(port)).await {
            Ok(listener) => listener,
            Err(_) if port != 0 => TcpListener::bind(every(0)).await?,
            Err(error) => return Err(error),
        };
        Ok(Self { listener, off, crowd: Crowd::default() })
    }

    pub(super) fn port(&self) -> io::Result<u16> {
        Ok(self.listener.local_addr()?.port())
    }
}

impl Listener for Network {
    type Io = Line;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Line, SocketAddr) {
        loop {
            let (stream, from) = Listener::accept(&mut self.listener).await;
            // A line too many is dropped, which closes it.
            if let Some(place) = self.crowd.enter(from.ip()) {
                return (Line::new(stream, self.off.clone(), place), from);
            }
        }
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        self.listener.local_addr()
    }
}

/// How many lines each device has.
#[derive(Debug, Clone, Default)]
struct Crowd(Arc<Mutex<BTreeMap<IpAddr, usize>>>);

impl Crowd {
    fn enter(&self, from: IpAddr) -> Option<Place> {
        let mut lines = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let all: usize = lines.values().sum();
        if all >= LINES || lines.get(&from).is_some_and(|own| *own >= LINES_OF_ONE) {
            return None;
        }
        *lines.entry(from).or_default() += 1;
        Some(Place { crowd: self.clone(), from })
    }
}

/// A line's place among the others, given back when it is dropped.
#[derive(Debug)]
struct Place {
    crowd: Crowd,
    from: IpAddr,
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut lines = self.crowd.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(own) = lines.get_mut(&self.from) {
            *own -= 1;
            if *own == 0 {
                lines.remove(&self.from);
            }
        }
    }
}

/// What is known of a line by the requests that come over it.
#[derive(Debug, Clone)]
pub(super) struct Caller {
    /// The address of this machine at which it was reached.
    pub(super) reached: Option<SocketAddr>,
    paired: Arc<AtomicBool>,
}

impl Caller {
    #[cfg(test)]
    pub(super) fn at(reached: &str) -> Self {
        Self { reached: reached.parse().ok(), paired: Arc::default() }
    }

    /// The device at its other end has shown that it is paired: the line may stay.
    pub(super) fn is_paired(&self) {
        self.paired.store(true, Ordering::Relaxed);
    }
}

impl Connected<IncomingStream<'_, Network>> for Caller {
    fn connect_info(stream: IncomingStream<'_, Network>) -> Self {
        stream.io().caller.clone()
    }
}

/// A connection that ends, whatever goes over it, when the tablet is switched off or when its device
/// has had its time.
pub(super) struct Line {
    stream: TcpStream,
    off: Pin<Box<dyn Future<Output = ()> + Send>>,
    patience: Pin<Box<Sleep>>,
    opened: Instant,
    moved: Instant,
    caller: Caller,
    ended: bool,
    _place: Place,
}

impl Line {
    fn new(stream: TcpStream, off: watch::Receiver<()>, place: Place) -> Self {
        // What is dragged is sent in small pieces; where they wait for each other it only is slower.
        let _ = stream.set_nodelay(true);
        let caller = Caller { reached: stream.local_addr().ok(), paired: Arc::default() };
        let now = Instant::now();
        Self {
            stream,
            off: Box::pin(switched_off(off)),
            patience: Box::pin(sleep_until(now + UNKNOWN_FOR)),
            opened: now,
            moved: now,
            caller,
            ended: false,
            _place: place,
        }
    }

    /// Refuses when the line has ended, and else sees to it that its task is woken when it does.
    fn stands(&mut self, context: &mut Context<'_>) -> io::Result<()> {
        self.ended = self.ended || self.off.as_mut().poll(context).is_ready();
        while !self.ended && self.patience.as_mut().poll(context).is_ready() {
            let paired = self.caller.paired.load(Ordering::Relaxed);
            let until = if paired { self.moved + SILENT_FOR } else { self.opened + UNKNOWN_FOR };
            self.ended = until <= Instant::now();
            self.patience.as_mut().reset(until);
        }
        if self.ended { Err(io::ErrorKind::ConnectionAborted.into()) } else { Ok(()) }
    }

    fn moved<T>(&mut self, outcome: Poll<T>) -> Poll<T> {
        if outcome.is_ready() {
            self.moved = Instant::now();
        }
        outcome
    }
}

impl AsyncRead for Line {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        self.stands(context)?;
        let outcome = Pin::new(&mut self.stream).poll_read(context, into);
        self.moved(outcome)
    }
}

impl AsyncWrite for Line {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        self.stands(context)?;
        let outcome = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.moved(outcome)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        self.stands(context)?;
        let outcome = Pin::new(&mut self.stream).poll_write_vectored(context, bytes);
        self.moved(outcome)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        self.stands(context)?;
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }
}

/// This machine's address in the local network: the one it would send from. Nothing is sent.
pub(super) fn own_address() -> Option<IpAddr> {
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    // First anywhere, by an address set aside for documentation (RFC 5737), so that none is reached by
    // mistake. A network without a way out, as between this machine and a tablet alone, is found by the
    // addresses that such networks have.
    let anywhere = [Ipv4Addr::new(192, 0, 2, 1), Ipv4Addr::new(10, 42, 0, 2)];
    let homes = (0..=255).map(|n| Ipv4Addr::new(192, 168, n, 2));
    let found = anywhere.into_iter().chain(homes).find_map(|there| {
        socket.connect((there, 9)).ok()?;
        socket.local_addr().ok().map(|address| address.ip())
    });
    found.filter(|address| !address.is_loopback() && !address.is_unspecified())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_device_takes_all_lines() {
        let crowd = Crowd::default();
        let of = |n: u8| IpAddr::V4(Ipv4Addr::new(192, 168, 1, n));
        let mut places: Vec<Place> = (0..LINES_OF_ONE).filter_map(|_| crowd.enter(of(1))).collect();
        assert_eq!(places.len(), LINES_OF_ONE);
        assert!(crowd.enter(of(1)).is_none(), "one device has its share");
        places.extend((2..=255).flat_map(|n| crowd.enter(of(n))));
        assert_eq!(places.len(), LINES);
        assert!(crowd.enter(of(2)).is_none(), "all together have theirs");
        places.remove(0);
        assert!(crowd.enter(of(1)).is_some(), "a place is given back");
        drop(places);
        assert!(crowd.0.lock().expect("whole").is_empty());
    }
}

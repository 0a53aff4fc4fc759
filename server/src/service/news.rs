//! NewsService.

use super::asked::signed_in;
use super::status::to_status;
use super::views;
use crate::app::App;
use crate::app::news::{Heard, NewsAsked};
use battenboard_proto::v1;
use battenboard_proto::v1::news_service_server::NewsService;
use std::pin::Pin;
use std::sync::Arc;
use tokio_stream::wrappers::ReceiverStream;
use tokio_stream::{Stream, StreamExt};
use tonic::{Request, Response, Status};

/// See the file's head.
pub struct News(pub Arc<App>);

fn response(heard: Heard) -> v1::ListenNewsResponse {
    let Heard { events, cursor, caught_up } = heard;
    v1::ListenNewsResponse { events: events.iter().map(|event| views::event(event)).collect(), cursor, caught_up }
}

#[tonic::async_trait]
impl NewsService for News {
    type ListenNewsStream = Pin<Box<dyn Stream<Item = Result<v1::ListenNewsResponse, Status>> + Send>>;

    async fn list_news(&self, request: Request<v1::ListNewsRequest>) -> Result<Response<v1::ListNewsResponse>, Status> {
        let (caller, _, v1::ListNewsRequest { cursor, from_oldest, page_size, page_token }) = signed_in(request)?;
        let asked = NewsAsked { cursor, from_oldest, page_size, page_token };
        let page = self.0.list_news(&caller, asked).await.map_err(to_status)?;
        let events = page.events.iter().map(views::event).collect();
        Ok(Response::new(v1::ListNewsResponse { events, next_page_token: page.next, cursor: page.cursor }))
    }

    async fn listen_news(
        &self,
        request: Request<v1::ListenNewsRequest>,
    ) -> Result<Response<Self::ListenNewsStream>, Status> {
        let (caller, _, v1::ListenNewsRequest { cursor }) = signed_in(request)?;
        let heard = self.0.listen_news(&caller, &cursor).await.map_err(to_status)?;
        let stream = ReceiverStream::new(heard).map(|heard| heard.map(response).map_err(to_status));
        Ok(Response::new(Box::pin(stream)))
    }
}
